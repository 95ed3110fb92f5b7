//! Lengths, points, colours and accuracies as written → numbers.

use glam::{DVec2, DVec3, dvec2, dvec3};

use super::{GRID, Resolver, read};
use crate::design::Shape;
use cakefile::{
    Diagnostic, FieldPath,
    schema::{Angle, Colour, Length, Size},
};
use formats::model::Rgb;
use geom::Tolerance;

/// Finer steps take minutes, coarser ones lose a finger, mm.
const GRIDS: std::ops::RangeInclusive<f64> = 0.5..=10.0;

impl Resolver<'_> {
    pub(super) fn length(&mut self, value: &Length, field: FieldPath) -> Option<f64> {
        read!(self, value.to_mm(self.unit), field)
    }

    pub(super) fn size(&mut self, value: &Size, field: FieldPath) -> Option<f64> {
        read!(self, value.to_mm(self.unit), field)
    }

    pub(super) fn angle(&mut self, value: Option<&Angle>, field: FieldPath) -> Option<f64> {
        match value {
            None => Some(0.0),
            Some(angle) => read!(self, angle.to_degrees(), field),
        }
    }

    pub(super) fn point2(&mut self, p: &[Length; 2], field: &FieldPath) -> Option<DVec2> {
        let x = self.length(&p[0], field.index(0));
        let y = self.length(&p[1], field.index(1));
        Some(dvec2(x?, y?))
    }

    pub(super) fn point3(&mut self, p: &[Length; 3], field: &FieldPath) -> Option<DVec3> {
        let x = self.length(&p[0], field.index(0));
        let y = self.length(&p[1], field.index(1));
        let z = self.length(&p[2], field.index(2));
        Some(dvec3(x?, y?, z?))
    }

    /// A direction of length 1.
    pub(super) fn direction(&mut self, p: &[Length; 3], field: &FieldPath) -> Option<DVec3> {
        let v = self.point3(p, field)?;
        let unit = v.try_normalize();
        if unit.is_none() {
            self.refuse(
                field.clone(),
                "a direction cannot be 0, 0, 0",
                "point it somewhere: [0, 0, 1] is straight up",
            );
        }
        unit
    }

    pub(super) fn colour(&mut self, colour: &Colour, field: FieldPath) -> Option<Rgb> {
        let rgb = colour.to_rgb().map(|[r, g, b]| Rgb(r, g, b));
        if rgb.is_none() {
            self.refuse(
                field,
                format!("\"{}\" is no colour", colour.0),
                "write it as \"#rrggbb\", such as \"#d04030\"",
            );
        }
        rgb
    }

    pub(super) fn tolerance(
        &mut self,
        value: Option<&Size>,
        field: FieldPath,
        default: Tolerance,
    ) -> Option<Tolerance> {
        match value {
            None => Some(default),
            Some(size) => self.size(size, field).and_then(Tolerance::new),
        }
    }

    /// The step for a shape: as given, or the usual one, but no finer than a shape of its size can be worked out
    /// in a few seconds.
    pub(super) fn grid_for(&mut self, given: Option<f64>, shape: &Shape, field: &FieldPath) -> f64 {
        /// Most steps along the largest side: the work goes with their square.
        const MOST_STEPS: f64 = 350.0;
        let step = given.unwrap_or(GRID);
        if shape.form().is_none() {
            return step;
        }
        let finest = shape.size().max_element() / MOST_STEPS;
        if given.is_some_and(|given| given < finest) {
            let style = self.style;
            let (asked, used) = (style.length_fine(step), style.length_fine(finest));
            let message = format!("a step of {asked} is too fine for so large a shape: {used} is used");
            self.problems
                .push(Diagnostic::warning(field.clone(), message).fix("make it coarser, or leave it out"));
        }
        step.max(finest)
    }

    pub(super) fn grid(&mut self, size: &Size, field: FieldPath) -> Option<f64> {
        let step = self.size(size, field.clone())?;
        if GRIDS.contains(&step) {
            return Some(step);
        }
        self.refuse(
            field,
            format!("a step of {} cannot be used", self.style.length_fine(step)),
            format!("give {} to {} mm; {GRID} mm if left out", GRIDS.start(), GRIDS.end()),
        );
        None
    }
}
