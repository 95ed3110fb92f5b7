//! The finished outside as written → a [`Shape`].

use std::sync::Arc;

use glam::DVec2;

use super::{Resolver, crossed_remarks as remarks, read_problem};
use crate::{
    design::{Crossed, Form, Profile, Shape, scanned},
    outline::{self, Placement, Reading, View},
};
use cakefile::{Diagnostic, FieldPath, exactly_one, schema};
use geom::real;
use geom::{
    Cancel, Region, Tolerance,
    crossing::{EdgeRounding, Views},
    loft::{self, LoftSection},
};

/// Views whose heights differ by less agree, unless the cake file says otherwise, mm.
const HEIGHTS_AGREE: f64 = 1.0;
/// Heights that differ by no more are levelled without a word, mm: nobody cuts closer.
const UNTOLD: f64 = 0.1;
/// Exponents of level sections: below 1 they have corners turned inwards, far above they are rectangles.
const EXPONENTS: std::ops::RangeInclusive<f64> = 1.0..=20.0;
/// How many times larger or smaller an outline may be made.
const SCALES: std::ops::RangeInclusive<f64> = 0.01..=100.0;

impl Resolver<'_> {
    /// The shape, as it was made before if the same is written and the files that it names hold the same.
    pub(super) fn shape(
        &mut self,
        shape: &schema::Shape,
        tolerance: Tolerance,
        field: &FieldPath,
    ) -> Option<Arc<Shape>> {
        let key = (shape.clone(), self.unit, tolerance);
        let remembered = self.remembered;
        let (made, problems) = remembered.shapes.get_or(key, self.files, |files, problems| {
            let materials = std::mem::take(&mut self.materials);
            let mut inner = Resolver {
                unit: self.unit,
                style: self.style,
                materials,
                problems: Vec::new(),
                files,
                remembered,
                cancel: self.cancel,
                shape: self.shape,
                zones: Vec::new(),
            };
            let made = inner.new_shape(shape, tolerance, field);
            problems.append(&mut inner.problems);
            self.materials = inner.materials;
            made
        });
        self.problems.extend(problems);
        made
    }

    fn new_shape(&mut self, shape: &schema::Shape, tolerance: Tolerance, field: &FieldPath) -> Option<Shape> {
        let given = [
            ("turned", shape.turned.is_some()),
            ("crossed", shape.crossed.is_some()),
            ("sections", shape.sections.is_some()),
            ("scanned", shape.scanned.is_some()),
        ];
        let kind = read_problem(exactly_one(&given, field), &mut self.problems)?;
        let at = field.key(kind);
        match kind {
            "turned" => self.turned(shape.turned.as_ref()?, tolerance, &at),
            "crossed" => self.crossed(shape.crossed.as_ref()?, tolerance, &at),
            "sections" => self.sections(shape.sections.as_ref()?, tolerance, &at),
            _ => {
                let reading = Reading::new(self.unit, at, self.files, &mut self.problems);
                scanned::resolve(shape.scanned.as_ref()?, reading, self.cancel)
            }
        }
    }

    fn turned(&mut self, outline: &schema::Outline, tolerance: Tolerance, at: &FieldPath) -> Option<Shape> {
        let path =
            outline::to_path(outline, self.unit, Placement::OnAxis, at, self.files, &mut self.problems)?;
        // Half of the allowance goes to straightening curves, the rest is left for the round.
        let fine = Tolerance::new(tolerance.chord_mm() / 2.0).unwrap_or(tolerance);
        let lines = outline::flattened(&path, fine);
        let points = lines.concat();
        let closed = outline::is_closed(&path);
        let points =
            if closed { points.iter().copied().chain(points.first().copied()).collect() } else { points };
        match Profile::new(&points, tolerance) {
            Ok(profile) => Some(Shape::Turned(profile)),
            Err(error) => {
                self.refuse(at.clone(), error.told(self.style), error.fix());
                None
            }
        }
    }

    fn crossed(&mut self, crossed: &schema::Crossed, tolerance: Tolerance, at: &FieldPath) -> Option<Shape> {
        let softening = self.softening(crossed, at);
        let front = self.view(&crossed.front, crossed.front_scale, View::Upright, tolerance, at, "front");
        let side = self.view(&crossed.side, crossed.side_scale, View::Upright, tolerance, at, "side");
        let above = self.maybe(crossed.above.as_ref(), |s, outline| {
            s.view(outline, crossed.above_scale, View::Above, tolerance, at, "above")
        });
        let allowed =
            self.maybe(crossed.height_tolerance.as_ref(), |s, size| s.size(size, at.key("height_tolerance")));
        let (front, side, above) = (front?, side?, above?);
        let scales = [crossed.front_scale, crossed.side_scale].map(|scale| scale.unwrap_or(1.0));
        let side = self.as_high((&front, side), scales, allowed?.unwrap_or(HEIGHTS_AGREE), at)?;
        let views = Views { front: &front, side: &side, above: above.as_ref() };
        let made = match softening? {
            None => views.try_crossed(&Cancel::new()).map(|solid| (solid, Vec::new())),
            Some(softening) => views.rounded(softening, tolerance, &Cancel::new()),
        };
        let problem = |error| {
            Diagnostic::error(at.clone(), format!("the silhouettes cannot be crossed: {error}"))
                .fix("leave out `corner` and `roundness`, if given, and please report these outlines")
        };
        let (solid, tighter) = read_problem(made.map_err(problem), &mut self.problems)?;
        self.problems.extend(remarks::tighter_edges(&tighter, self.unit, at));
        self.problems.extend(remarks::walls([&front, &side], self.unit, at));
        let mesh = solid.to_mesh();
        let stands = mesh.bounds().is_some_and(|(lo, _)| lo.z.abs() < 1e-6) && !mesh.section(1e-6).is_empty();
        if !stands {
            self.refuse(
                at.clone(),
                "the silhouettes have no foot in common: nothing of the shape stands on the board",
                "let both stand on their base line with a flat stretch, and lie across the centre line there",
            );
            return None;
        }
        let form = Form::new(mesh);
        Some(match crossed.corner.is_some() || crossed.roundness.is_some() {
            true => Shape::Free(form),
            false => Shape::Crossed(Crossed { front, side, above, form }),
        })
    }

    fn softening(&mut self, crossed: &schema::Crossed, at: &FieldPath) -> Option<Option<EdgeRounding>> {
        match (&crossed.corner, crossed.roundness) {
            (None, None) => Some(None),
            (Some(corner), None) => {
                self.size(corner, at.key("corner")).map(|radius| Some(EdgeRounding::Radius(radius)))
            }
            (None, Some(exponent)) if EXPONENTS.contains(&exponent) => {
                Some(Some(EdgeRounding::Exponent(exponent)))
            }
            (None, Some(exponent)) => {
                self.refuse(
                    at.key("roundness"),
                    format!("{exponent} is no roundness"),
                    format!(
                        "give {} to {}: 2 makes ellipses, 2.5 to 4 squarer sections",
                        EXPONENTS.start(),
                        EXPONENTS.end()
                    ),
                );
                None
            }
            (Some(_), Some(_)) => {
                self.refuse(
                    at.key("roundness"),
                    "`corner` and `roundness` cannot both be given",
                    "take one out: `corner` rounds edges by a radius, `roundness` whole sections",
                );
                None
            }
        }
    }

    /// One view, with its lowest point at height 0, or from above.
    fn view(
        &mut self,
        outline: &schema::Outline,
        scale: Option<f64>,
        view: View,
        tolerance: Tolerance,
        at: &FieldPath,
        key: &str,
    ) -> Option<Region> {
        let field = at.key(key);
        let scale = scale.unwrap_or(1.0);
        if !SCALES.contains(&scale) {
            let message = format!("{scale} is no scale");
            let fix = format!("give {} to {}; 1 is as drawn", SCALES.start(), SCALES.end());
            self.refuse(at.key(&format!("{key}_scale")), message, fix);
            return None;
        }
        let region = self.region(outline, view, tolerance, &field)?;
        let place = |c: &Vec<DVec2>| c.iter().map(|p| *p * scale).collect();
        Some(Region::new(region.contours().iter().map(place).collect()))
    }

    /// An outline as a region, its holes and islands kept.
    fn region(
        &mut self,
        outline: &schema::Outline,
        view: View,
        tolerance: Tolerance,
        field: &FieldPath,
    ) -> Option<Region> {
        let (unit, files) = (self.unit, self.files);
        let problems = &mut self.problems;
        outline::to_silhouette(outline, unit, view, tolerance, field, files, problems)
            .map(|found| found.region)
    }

    /// The side, made as high as the front where both agree to within `allowed` mm.
    fn as_high(
        &mut self,
        (front, side): (&Region, Region),
        scales: [f64; 2],
        allowed: f64,
        at: &FieldPath,
    ) -> Option<Region> {
        let heights = [front, &side].map(|view| view.bounds().map_or(0.0, |(_, hi)| hi.y));
        let by = heights[0] / heights[1];
        // What to write so that the one becomes as high as the other.
        let (front_scale, side_scale) = (scales[0] / by, scales[1] * by);
        let off = (heights[0] - heights[1]).abs();
        let style = self.style;
        let [said_front, said_side] = heights.map(|height| style.length_fine(height));
        if style.is_above(off, allowed) {
            self.refuse(
                at.clone(),
                format!(
                    "the front is {said_front} high and the side {said_side}: they differ by {}",
                    style.length_fine(off)
                ),
                format!(
                    "write `side_scale = {side_scale:.5}` or `front_scale = {front_scale:.5}`, or allow more by \
                     `height_tolerance`"
                ),
            );
            return None;
        }
        if off > UNTOLD {
            let message = format!(
                "the front is {said_front} high and the side {said_side}: the side is made {by:.4} times as large, so \
                 that they agree"
            );
            let fix =
                format!("`side_scale = {side_scale:.5}` or `front_scale = {front_scale:.5}` says so itself");
            self.problems.push(Diagnostic::note(at.clone(), message).fix(fix));
        }
        if off == 0.0 {
            return Some(side);
        }
        // Exactly as high, so that both end in the same level.
        let scaled = |p: &DVec2| DVec2::new(p.x * by, if p.y == heights[1] { heights[0] } else { p.y * by });
        Some(Region::new(side.contours().iter().map(|c| c.iter().map(scaled).collect()).collect()))
    }

    fn sections(
        &mut self,
        sections: &schema::Sections,
        tolerance: Tolerance,
        at: &FieldPath,
    ) -> Option<Shape> {
        let levels_at = at.key("at");
        let levels: Vec<Option<LoftSection>> = sections
            .at
            .iter()
            .enumerate()
            .map(|(i, section)| self.level(section, tolerance, &levels_at.index(i)))
            .collect();
        let levels: Vec<LoftSection> = levels.into_iter().collect::<Option<_>>()?;
        if let Some(first) = levels.first()
            && (first.height != 0.0 || first.outline.len() == 1)
        {
            self.refuse(
                levels_at.index(0),
                "the shape has no foot: its lowest outline does not lie on the board",
                "begin with an outline at height 0",
            );
            return None;
        }
        match loft::loft(&levels, sections.smooth.unwrap_or(false), tolerance, &Cancel::new()) {
            Ok(mesh) => Some(Shape::Free(Form::new(mesh))),
            Err(error) => {
                let (field, fix) = match error {
                    loft::LoftError::TooFew => (levels_at, "give at least two, or an outline and a `tip`"),
                    loft::LoftError::Cancelled(_) => (levels_at, "let it be worked out to its end"),
                    loft::LoftError::NotRising { index, .. } => {
                        (levels_at.index(index).key("height"), "list outlines from the board up")
                    }
                    loft::LoftError::Empty { index, .. } => (
                        levels_at.index(index),
                        "draw it round once without crossing itself; a `tip` ends a shape at its top only",
                    ),
                    loft::LoftError::IntersectsItself { index, .. } => (
                        levels_at.index(index),
                        "put another outline between them, or make the two more alike",
                    ),
                };
                self.refuse(field, error.to_string(), fix);
                None
            }
        }
    }

    fn level(
        &mut self,
        section: &schema::SectionAt,
        tolerance: Tolerance,
        field: &FieldPath,
    ) -> Option<LoftSection> {
        let given = [("outline", section.outline.is_some()), ("tip", section.tip.is_some())];
        let kind = read_problem(exactly_one(&given, field), &mut self.problems)?;
        let height = self.length(&section.height, field.key("height"));
        let offset = match &section.offset {
            None => Some(DVec2::ZERO),
            Some(p) => self.point2(p, &field.key("offset")),
        };
        let turn = self.angle(section.turn.as_ref(), field.key("turn"));
        if kind == "tip" {
            let tip = self.point2(section.tip.as_ref()?, &field.key("tip"));
            return Some(LoftSection { height: height?, outline: vec![tip? + offset?] });
        }
        let at = field.key("outline");
        let region = self.region(section.outline.as_ref()?, View::Above, tolerance, &at)?;
        let [outline] = region.contours() else {
            self.refuse(
                at,
                format!("the outline has {} rims; a section has one", region.contours().len()),
                "leave holes and islands to [[detail]] or to crossed silhouettes",
            );
            return None;
        };
        let (turn, offset) = (real::unit_vector(turn?.to_radians()), offset?);
        Some(LoftSection {
            height: height?,
            outline: outline.iter().map(|p| turn.rotate(*p) + offset).collect(),
        })
    }
}
