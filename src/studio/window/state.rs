//! The state of the window: the view settings, the cake that was loaded last, and what is shown of it.

use std::{sync::Arc, time::Instant};

use bevy::prelude::*;
use glam::DVec3;

use super::{
    source::LoadedCake,
    theme::Theme,
    worker::{JobError, NotLoaded},
};
use crate::{Look, Piece, Scene, Showing, Simplified, Step, ViewerError, compose::Legend, picture};
use formats::model::PartKind;
use geom::units::UnitStyle;

/// What the maker asks to see.
#[derive(Resource, Debug, Clone, PartialEq, Default)]
pub struct ViewSettings {
    /// What of the cake.
    pub showing: Showing,
    /// Light or dark.
    pub theme: Theme,
}

/// A piece that is shown, without its surface.
#[derive(Debug, Clone, PartialEq)]
pub struct ShownPiece {
    /// Name of its part.
    pub name: String,
    /// How it is drawn.
    pub look: Look,
    /// How far it was lifted, mm.
    pub lift: f64,
}

/// The cake that was loaded last, and what is shown of it. Errors of the file and errors of the picture are
/// kept apart: each is cleared by the next good result of its own kind only.
#[derive(Resource, Default)]
pub struct WindowState {
    /// The last cake that could be loaded.
    pub cake: Option<Arc<LoadedCake>>,
    /// Why the newest load gave no cake.
    pub load_error: Option<JobError<NotLoaded>>,
    /// Why the newest scene cannot be shown.
    pub scene_error: Option<JobError<ViewerError>>,
    /// How far the making has come in the picture.
    pub step: Step,
    /// What had to be simplified for the graphics card.
    pub simplified: Option<Simplified>,
    /// The pieces that are shown.
    pub pieces: Vec<ShownPiece>,
    /// Points on every piece, mm: what a view has to hold.
    pub points: Vec<DVec3>,
    /// Middle of the scene, mm.
    pub middle: DVec3,
    /// Half the diagonal of the scene, mm.
    pub radius: f64,
    /// Whether its soft light is worked out.
    pub is_lit: bool,
    /// What the legend explains.
    pub legend: Legend,
    /// The scene that was requested last.
    pub requested: Option<(Arc<LoadedCake>, Showing)>,
    /// Since when it is waited for.
    pub asked_at: Option<Instant>,
}

/// The part of the window that shows the cake.
#[derive(Resource, Debug, Clone, Copy, PartialEq)]
pub struct Viewport {
    /// Top left corner, pixels.
    pub corner: UVec2,
    /// Size, pixels.
    pub size: UVec2,
    /// Pixels in one point.
    pub scale: f32,
}

impl Default for Viewport {
    fn default() -> Self {
        Self { corner: UVec2::ZERO, size: UVec2::new(1000, 750), scale: 1.0 }
    }
}

impl Viewport {
    /// Whether a point of the window lies on it, right of it or below it; the panel is at its left, the bar above it.
    pub fn contains(&self, point: Vec2) -> bool {
        point.x * self.scale >= self.corner.x as f32 && point.y * self.scale >= self.corner.y as f32
    }

    /// Height, points: what pointers move in.
    pub fn points_high(&self) -> f64 {
        f64::from(self.size.y) / f64::from(self.scale)
    }

    /// How many times as wide as high.
    pub fn aspect(&self) -> f64 {
        f64::from(self.size.x.max(1)) / f64::from(self.size.y.max(1))
    }
}

impl WindowState {
    /// How figures are written: in the unit of the cake first.
    pub fn style(&self) -> UnitStyle {
        UnitStyle::new(self.cake.as_ref().map(|cake| cake.model.unit).unwrap_or_default())
    }

    /// Takes over the result of a load. Without a new cake the last good one stays.
    pub fn set_cake(&mut self, loaded: Result<Arc<LoadedCake>, JobError<NotLoaded>>) {
        match loaded {
            Ok(cake) => (self.cake, self.load_error) = (Some(cake), None),
            Err(error) => self.load_error = Some(error),
        }
    }

    /// Notes the scene of this cake that is shown now.
    pub fn set_scene(&mut self, cake: &LoadedCake, scene: &Scene, simplified: Simplified) {
        let piece = |piece: &Piece| ShownPiece {
            name: cake.model.parts[piece.part].name.clone(),
            look: piece.look,
            lift: piece.lift,
        };
        self.pieces = scene.pieces.iter().map(piece).collect();
        self.step = scene.step.clone();
        self.points = sampled(scene);
        let (lo, hi) = scene.bounds().unwrap_or((DVec3::ZERO, DVec3::splat(100.0)));
        (self.middle, self.radius) = ((lo + hi) / 2.0, (hi - lo).length() / 2.0);
        self.legend = picture::legend(&cake.model, scene);
        self.simplified = Some(simplified);
        self.scene_error = None;
    }

    /// Notes why there is no new scene; whether the old one is to be taken away. It stays unless nothing is to
    /// be shown.
    pub fn set_scene_error(&mut self, error: JobError<ViewerError>) -> bool {
        let nothing = matches!(error, JobError::Failed(ViewerError::AllHidden));
        if nothing {
            // Points, middle and radius stay: so does the eye.
            self.pieces.clear();
            self.legend = Legend::default();
            self.simplified = None;
        }
        self.scene_error = Some(error);
        nothing
    }

    /// Height of the top of the scene, mm.
    pub fn top(&self) -> f64 {
        self.points.iter().map(|c| c.z).fold(1.0, f64::max)
    }

    /// Names of all parts that belong to the layer of this name.
    pub fn parts_of_layer(&self, name: &str) -> Vec<String> {
        let Some(cake) = &self.cake else { return Vec::new() };
        let parts = &cake.model.parts;
        let sponge = [PartKind::RawLayer, PartKind::Kept, PartKind::Offcut, PartKind::Shortfall];
        let Some(layer) = parts.iter().find(|p| sponge.contains(&p.kind) && p.name == name) else {
            return Vec::new();
        };
        let same = parts.iter().filter(|p| p.index == layer.index && sponge.contains(&p.kind));
        same.map(|p| p.name.clone()).collect()
    }
}

/// A view is fitted to about this many points of the scene.
const SAMPLES: usize = 6000;

/// Points spread over every piece of the scene, mm.
fn sampled(scene: &Scene) -> Vec<DVec3> {
    let total: usize = scene.pieces.iter().map(|piece| piece.surface.mesh.positions.len()).sum();
    let every = total.div_ceil(SAMPLES).max(1);
    let points = scene.pieces.iter().flat_map(|piece| piece.surface.mesh.positions.iter().copied());
    points.step_by(every).collect()
}

#[cfg(test)]
mod tests {
    use super::{super::problems::problems, *};
    use crate::{build_scene, test_model::one_layer};
    use formats::model::Model;
    use geom::units::Unit;

    fn loaded(unit: Unit) -> Arc<LoadedCake> {
        Arc::new(LoadedCake { model: Model { unit, ..one_layer() }, ..LoadedCake::default() })
    }

    /// Does what the window does with the result of a scene.
    fn show(state: &mut WindowState, hidden: &[&str]) {
        let cake = state.cake.clone().unwrap();
        let hidden = hidden.iter().map(|name| (*name).to_owned()).collect();
        match build_scene(&cake.model, &Showing { hidden, ..Showing::default() }) {
            Ok(scene) => state.set_scene(&cake, &scene, Simplified::default()),
            Err(error) => {
                state.set_scene_error(JobError::Failed(error));
            }
        }
    }

    fn titles(state: &WindowState) -> Vec<String> {
        problems(state).into_iter().map(|problem| problem.title).collect()
    }

    #[test]
    fn a_layer_switched_off_and_on_again_leaves_no_message() {
        let mut state = WindowState::default();
        state.set_cake(Ok(loaded(Unit::Millimetre)));
        show(&mut state, &[]);
        assert!(titles(&state).is_empty());
        let (points, middle) = (state.points.clone(), state.middle);
        show(&mut state, &["raw", "layer"]);
        assert_eq!(titles(&state), ["Nothing is shown: all parts are switched off"]);
        assert!(state.pieces.is_empty() && state.legend.is_empty());
        assert_eq!((&state.points, state.middle), (&points, middle), "the eye has to stay");
        show(&mut state, &[]);
        assert!(titles(&state).is_empty());
        assert_eq!(state.pieces.len(), 2);
    }

    #[test]
    fn a_problem_of_the_file_stays_until_the_file_is_good() {
        let mut state = WindowState::default();
        state.set_cake(Err(JobError::Failed("line 3: no such key".into())));
        assert_eq!(titles(&state), ["The cake file has a problem"]);
        state.set_cake(Ok(loaded(Unit::Millimetre)));
        show(&mut state, &[]);
        state.set_cake(Err(JobError::Failed("line 3: no such key".into())));
        let file = "The cake file has a problem; this is the last good picture";
        assert_eq!(titles(&state), [file]);
        assert_eq!(problems(&state)[0].text, "line 3: no such key");
        // Another view of the last good cake says nothing about the file.
        show(&mut state, &["raw"]);
        assert_eq!(titles(&state), [file]);
        show(&mut state, &["raw", "layer"]);
        assert_eq!(titles(&state), [file, "Nothing is shown: all parts are switched off"]);
        state.set_cake(Ok(loaded(Unit::Millimetre)));
        assert_eq!(titles(&state), ["Nothing is shown: all parts are switched off"]);
        show(&mut state, &[]);
        assert!(titles(&state).is_empty());
    }

    #[test]
    fn a_panic_is_told_as_an_internal_error_and_the_last_good_picture_stays() {
        let mut state = WindowState::default();
        state.set_cake(Ok(loaded(Unit::Millimetre)));
        show(&mut state, &[]);
        state.set_cake(Err(JobError::Panicked("no such layer".into())));
        assert!(!state.set_scene_error(JobError::Panicked("no offcuts".into())));
        assert!(state.cake.is_some() && state.pieces.len() == 2, "the last good picture is gone");
        let told = problems(&state);
        assert_eq!(told[0].title, "The cake could not be planned; this is the last good picture");
        assert_eq!(told[1].title, "The picture could not be made; this is the last good one");
        for (problem, said) in told.iter().zip(["no such layer", "no offcuts"]) {
            assert!(problem.text.starts_with("Internal error: ") && problem.text.ends_with(said));
        }
        show(&mut state, &[]);
        state.set_cake(Ok(loaded(Unit::Millimetre)));
        assert!(titles(&state).is_empty());
    }

    #[test]
    fn the_legend_says_how_deep_in_the_unit_of_the_maker() {
        let mut state = WindowState::default();
        state.set_cake(Ok(loaded(Unit::Inch)));
        show(&mut state, &[]);
        // The layer was shaved by 50 mm.
        let told: Vec<String> = state.legend.bands().into_iter().map(|(_, text)| text).collect();
        assert_eq!(told[..3], ["not carved", "up to 1/2 in (13 mm)", "up to 1 in"]);
        assert_eq!(told[3..], ["up to 2 in"]);
        assert!(state.legend.ghost && !state.legend.shortfall);
        state.set_cake(Ok(loaded(Unit::Centimetre)));
        show(&mut state, &[]);
        let told: Vec<String> = state.legend.bands().into_iter().map(|(_, text)| text).collect();
        assert_eq!(told, ["not carved", "up to 1 cm", "up to 2.5 cm", "up to 5 cm"]);
    }
}
