//! An orbit camera: where the eye is, the jump that it is making, and the camera component.

use bevy::{prelude::*, window::RequestRedraw};
use glam::DVec3;

use super::state::WindowState;
use crate::{Lens, Margins, Pose, View, camera, framing};

/// Degrees turned by dragging one pixel.
const TURN_PER_PIXEL: f64 = 0.4;
/// Share of the height by which one notch of the wheel comes nearer.
const NEARER_PER_NOTCH: f64 = 0.12;
/// Seconds that a jump to a named view takes.
const JUMP_SECONDS: f64 = 0.28;
/// Nearest and farthest: height of the picture at the cake, mm.
const REACH: std::ops::RangeInclusive<f64> = 4.0..=6000.0;

/// Where the eye is on its orbit around the target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Orbit {
    /// What it looks at, mm.
    pub target: DVec3,
    /// Degrees, 0 in front, counter-clockwise seen from above.
    pub bearing: f64,
    /// Degrees above the level.
    pub elevation: f64,
    /// Height of the picture at the target, mm.
    pub height: f64,
}

impl Orbit {
    /// The orbit at which the eye has this pose, seen from `view`.
    pub fn at(view: View, pose: &Pose) -> Self {
        let (bearing, elevation) = view.bearing_and_elevation();
        Self { target: pose.target, bearing, elevation, height: pose.height }
    }

    /// The view from here.
    pub fn view(&self) -> View {
        View::From { bearing: self.bearing, elevation: self.elevation }
    }

    /// The pose of the eye.
    pub fn pose(&self, lens: Lens) -> Pose {
        Pose::looking_at(self.target, self.view(), lens, self.height)
    }

    /// Turns by a drag, pixels.
    pub fn turn(&mut self, right: f64, down: f64) {
        self.bearing = (self.bearing - right * TURN_PER_PIXEL).rem_euclid(360.0);
        self.elevation = (self.elevation + down * TURN_PER_PIXEL).clamp(-89.0, 90.0);
    }

    /// Moves by a drag, pixels of a picture `pixels` high: what was under the pointer stays there.
    pub fn shift(&mut self, right: f64, down: f64, pixels: f64) {
        let mm = self.height / pixels.max(1.0);
        let pose = self.pose(Lens::Orthographic);
        let sideways = pose.up.cross((pose.eye - pose.target).normalize());
        self.target += (pose.up * down - sideways * right) * mm;
    }

    /// Comes nearer by so many notches, but not so near that less than `least` mm are seen; further away when negative.
    pub fn approach(&mut self, notches: f64, least: f64) {
        let least = least.clamp(*REACH.start(), *REACH.end());
        self.height = (self.height * (1.0 - NEARER_PER_NOTCH).powf(notches)).clamp(least, *REACH.end());
    }

    /// The orbit `share` of the way to `other`, by the shorter arc.
    fn towards(&self, other: &Self, share: f64) -> Self {
        let mix = |a: f64, b: f64| a + (b - a) * share;
        let round = (other.bearing - self.bearing + 180.0).rem_euclid(360.0) - 180.0;
        Self {
            target: self.target.lerp(other.target, share),
            bearing: self.bearing + round * share,
            elevation: mix(self.elevation, other.elevation),
            height: mix(self.height.ln(), other.height.ln()).exp(),
        }
    }
}

/// The eye of the window: where it is, and where it is jumping to.
#[derive(Resource, Debug, Clone, PartialEq)]
pub struct Eye {
    /// Where it is.
    pub orbit: Orbit,
    /// How depth is drawn.
    pub lens: Lens,
    /// A place on the cake that is marked in the picture, mm.
    pub marked: Option<DVec3>,
    /// Whether the view still holds all of the cake, as it was fitted: it is fitted anew where cake or window change.
    is_fitted: bool,
    jump: Option<Jump>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Jump {
    from: Orbit,
    to: Orbit,
    gone: f64,
}

impl Default for Eye {
    fn default() -> Self {
        let (bearing, elevation) = View::ThreeQuarter.bearing_and_elevation();
        let orbit = Orbit { target: DVec3::ZERO, bearing, elevation, height: 400.0 };
        Self { orbit, lens: Lens::Perspective, marked: None, is_fitted: true, jump: None }
    }
}

impl Eye {
    /// Ends a jump where it is: there is input.
    pub fn stop(&mut self) {
        self.jump = None;
    }

    /// Starts a jump.
    pub fn jump_to(&mut self, to: Orbit) {
        self.jump = Some(Jump { from: self.orbit, to, gone: 0.0 });
    }

    /// Starts a jump to where a view shows all of `points`, in a picture this many times as wide as high.
    pub fn jump_to_view(&mut self, view: View, points: &[DVec3], aspect: f64) {
        let margins = Margins { left: 0.08, right: 0.08, top: 0.08, bottom: 0.08 };
        let pose = Pose::framing(points.iter().copied(), view, self.lens, aspect, margins);
        self.jump_to(Orbit::at(view, &pose));
        self.is_fitted = true;
    }

    /// Fits the view anew where the maker has not moved away from how it was fitted.
    pub fn fit_again(&mut self, points: &[DVec3], aspect: f64) {
        if self.is_fitted && !points.is_empty() {
            let view = self.jump.map_or(self.orbit, |jump| jump.to).view();
            self.start_at(view, points, aspect);
        }
    }

    /// Moves sideways, see [`Orbit::shift`]; from then on the view is the maker's own.
    pub fn shift(&mut self, right: f64, down: f64, pixels: f64) {
        self.orbit.shift(right, down, pixels);
        self.is_fitted = false;
    }

    /// Comes nearer by so many notches: outside a cake of this `radius` round `middle`, mm, where the picture is seen as by
    /// a camera. From then on the view is the maker's own.
    pub fn approach(&mut self, notches: f64, middle: DVec3, radius: f64) {
        let outside = match self.lens {
            Lens::Perspective => framing::height_at(radius + (middle - self.orbit.target).length()),
            Lens::Orthographic => 0.0,
        };
        // An eye that is nearer already is not sent away.
        self.orbit.approach(notches, outside.min(self.orbit.height));
        self.is_fitted = false;
    }

    /// Goes where a view shows all of `points`, without a jump.
    pub fn start_at(&mut self, view: View, points: &[DVec3], aspect: f64) {
        self.jump_to_view(view, points, aspect);
        self.finish_jump();
    }

    /// Jumps to a place on the cake and looks at it from outside.
    pub fn look_at(&mut self, place: DVec3, middle: DVec3, radius: f64) {
        let out = place - middle;
        let bearing =
            if out.truncate().length() < 1.0 { self.orbit.bearing } else { out.x.atan2(-out.y).to_degrees() };
        self.jump_to(Orbit { target: place, bearing, elevation: 15.0, height: radius.max(30.0) });
        (self.marked, self.is_fitted) = (Some(place), false);
    }

    /// Ends a jump at its target.
    fn finish_jump(&mut self) {
        self.advance(JUMP_SECONDS);
    }

    fn advance(&mut self, seconds: f64) {
        let Some(jump) = &mut self.jump else { return };
        jump.gone = (jump.gone + seconds / JUMP_SECONDS).min(1.0);
        let eased = jump.gone * jump.gone * (3.0 - 2.0 * jump.gone);
        self.orbit = jump.from.towards(&jump.to, eased);
        if jump.gone >= 1.0 {
            self.orbit.bearing = self.orbit.bearing.rem_euclid(360.0);
            self.jump = None;
        }
    }
}

/// Moves the camera to where the eye is.
pub fn move_camera(
    time: Res<Time>,
    mut eye: ResMut<Eye>,
    state: Res<WindowState>,
    mut camera: Single<(&mut Transform, &mut Projection), With<super::SceneCamera>>,
    mut redraw: MessageWriter<RequestRedraw>,
) {
    if eye.jump.is_some() {
        // The first frame after a pause must not end the jump at once.
        eye.advance(time.delta_secs_f64().min(0.05));
        redraw.write(RequestRedraw);
    }
    if !eye.is_changed() && !state.is_changed() {
        return;
    }
    let pose = eye.orbit.pose(eye.lens);
    let distance = (pose.eye - pose.target).length();
    let reach = state.radius + (state.middle - pose.target).length();
    let (near, far) = camera::depth_range(distance, reach);
    *camera.0 = camera::eye_transform(&pose);
    *camera.1 = camera::projection(&pose, near, far);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn orbit() -> Orbit {
        Orbit { target: DVec3::new(0.0, 0.0, 100.0), bearing: 30.0, elevation: 20.0, height: 300.0 }
    }

    #[test]
    fn dragging_moves_what_lies_under_the_pointer_with_it() {
        for (right, down) in [(40.0, 0.0), (0.0, -25.0), (13.0, 57.0)] {
            let mut moved = orbit();
            let size = (800, 600);
            let before = moved.pose(Lens::Orthographic).project(orbit().target, size);
            moved.shift(right, down, 600.0);
            let after = moved.pose(Lens::Orthographic).project(orbit().target, size);
            assert!(
                (after - before - glam::DVec2::new(right, down)).length() < 1e-6,
                "{after} from {before}"
            );
        }
    }

    #[test]
    fn a_jump_goes_the_short_way_round_and_arrives() {
        let mut eye = Eye { orbit: Orbit { bearing: 350.0, ..orbit() }, ..Eye::default() };
        let goal = Orbit { bearing: 10.0, elevation: -5.0, height: 80.0, target: DVec3::X };
        eye.jump_to(goal);
        for _ in 0..40 {
            eye.advance(0.016);
            let b = eye.orbit.bearing;
            assert!(b >= 349.9 || b <= 10.1 || (360.0..=370.1).contains(&b), "went through {b}");
        }
        assert!((eye.orbit.target - goal.target).length() < 1e-9);
        assert!((eye.orbit.bearing - 10.0).abs() < 1e-9 && (eye.orbit.height - 80.0).abs() < 1e-9);
    }

    #[test]
    fn the_eye_stays_outside_the_cake() {
        let (middle, radius) = (orbit().target, 180.0);
        let mut eye = Eye { orbit: orbit(), ..Eye::default() };
        eye.approach(60.0, middle, radius);
        let pose = eye.orbit.pose(Lens::Perspective);
        assert!((pose.eye - middle).length() >= radius - 1e-6);
        eye.lens = Lens::Orthographic;
        eye.approach(60.0, middle, radius);
        assert!(eye.orbit.height < 10.0, "true to scale nothing is entered");
    }

    #[test]
    fn a_view_is_fitted_anew_until_the_maker_comes_nearer() {
        let points = [DVec3::ZERO, DVec3::splat(200.0)];
        let mut eye = Eye::default();
        eye.start_at(View::Front, &points, 1.5);
        let small = eye.orbit.height;
        let more = [DVec3::ZERO, DVec3::splat(600.0)];
        eye.fit_again(&more, 1.5);
        assert!(eye.orbit.height > 2.0 * small);
        eye.approach(2.0, DVec3::ZERO, 10.0);
        let own = eye.orbit;
        eye.fit_again(&points, 1.5);
        assert_eq!(eye.orbit, own);
    }

    #[test]
    fn coming_nearer_and_going_back_again_changes_nothing() {
        let mut there = orbit();
        there.approach(3.0, 0.0);
        assert!(there.height < 250.0);
        there.approach(-3.0, 0.0);
        assert!((there.height - 300.0).abs() < 1e-9);
    }
}
