//! The drawing of a sheet that is developed: a rectangle, an annular sector, a ring or a disc.

use glam::{DVec2, dvec2};

use super::{CUT, MIDDLE, NET};
use crate::sheets::tiles::Tiling;
use formats::drawing::{Drawing, Lettering, Pen, on_paper};
use geom::{
    Region, Tolerance,
    develop::{FlatPattern, PatternForm},
    real,
};
use plan::design::Paper;

/// A sheet to be drawn.
pub(super) struct Developed<'a> {
    /// Its form without allowance.
    pub flat: FlatPattern,
    /// What it is called.
    pub name: &'a str,
    /// What half of it is called.
    pub fold: &'a str,
    /// How finely its arcs are drawn.
    pub tolerance: Tolerance,
}

/// Points nearer to the fold than this lie on it, mm.
const ON_FOLD: f64 = 1e-6;

impl Developed<'_> {
    /// Half of the pattern, and half of what is cut for it.
    fn half(&self, paper: &Paper) -> (Region, Region) {
        let half = self.flat.half(self.tolerance);
        let cut = half.outset(paper.allowance, self.tolerance).right_half();
        (half, cut)
    }

    /// The pattern, whole and upright, or half of it turned by so many radians.
    pub fn drawing(&self, paper: &Paper, half: Option<f64>) -> Drawing {
        let (net, cut) = match half {
            Some(_) => self.half(paper),
            None => {
                let net = self.flat.region(self.tolerance);
                let cut = net.outset(paper.allowance, self.tolerance);
                (net, cut)
            }
        };
        let turn = half.unwrap_or(0.0);
        let place = |p: DVec2| on_paper(real::unit_vector(turn).rotate(p));
        let mut drawing = Drawing::new();
        let mut outline = |region: &Region, pen: Pen| match half {
            // The fold is no edge.
            Some(_) => region
                .lines_without(|a, b| a.x.abs() < ON_FOLD && b.x.abs() < ON_FOLD)
                .into_iter()
                .for_each(|side| drawing.polyline(side.into_iter().map(place).collect(), pen)),
            None => drawing.region(region, DVec2::ZERO, None, Some(pen)),
        };
        outline(&net, NET);
        if paper.allowance > 0.0 {
            outline(&cut, CUT);
        }
        let (low, high) = self.flat.middle_line();
        drawing.line(place(low), place(high), MIDDLE);
        // The middle line points up, and words run along the sheet beside it.
        let up = (high - low).normalize();
        let head = (self.flat.slant / 4.0).min(3.0);
        let barb = |side: f64| place(high - up * head + up.perp() * side * head / 2.0);
        drawing.polyline(vec![barb(1.0), place(high), barb(-1.0)], Pen::grey(0.3));
        self.letter(&mut drawing, half, turn);
        drawing
    }

    /// Writes the name in the middle of the sheet, a little to the right of the middle line.
    fn letter(&self, drawing: &mut Drawing, half: Option<f64>, turn: f64) {
        let (low, high) = self.flat.middle_line();
        let size = (self.flat.slant * 0.35).min(3.8);
        let name = if half.is_some() { self.fold } else { self.name };
        let mut name = Lettering::new(name, DVec2::ZERO, size).bold().centred();
        let aside = name.width() / 2.0 + 2.0;
        let middle = low.lerp(high, 0.5);
        let radius = middle.length();
        let flat = matches!(self.flat.form(), PatternForm::Rectangle { .. }) || radius < aside;
        let (at, lean) = if flat {
            (middle + dvec2(aside, 0.0), 0.0)
        } else {
            let bend = aside / radius * if self.flat.upper > self.flat.lower { -1.0 } else { 1.0 };
            (real::unit_vector(bend).rotate(middle), bend)
        };
        let towards = turn + lean;
        let base = real::unit_vector(towards).rotate(dvec2(0.0, -size * 0.36));
        name.at = on_paper(real::unit_vector(turn).rotate(at)) + on_paper(base);
        drawing.text(name.turned(-towards.to_degrees()));
    }

    /// The turn that lets half of it be printed on the fewest pages, radians.
    pub fn best_turn(&self, paper: &Paper) -> f64 {
        /// Turns tried in half a turn.
        const TRIED: u32 = 36;
        let (_, outline) = self.half(paper);
        let cost = |turn: f64| {
            let (lo, hi) = outline.placed(turn, DVec2::ZERO).bounds().unwrap_or_default();
            let size = hi - lo;
            (Tiling::new(paper, lo, hi).pages(), size.x * size.y)
        };
        (0..TRIED)
            .map(|i| std::f64::consts::PI * f64::from(i) / f64::from(TRIED))
            .map(|turn| (cost(turn), turn))
            .min_by(|((a, b), _), ((c, d), _)| a.cmp(c).then(b.total_cmp(d)))
            .map_or(0.0, |(_, turn)| turn)
    }
}
