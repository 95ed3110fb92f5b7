//! A stack as the tiers of a cake file.

use std::fmt::Write;

use glam::DVec2;

use super::{dowels, search::Found, setup::Setup};
use cakefile::edit::{EditValue, LengthForm};
use geom::units::{MM_PER_INCH, Unit, parse_length};
use plan::{
    design::{Footprint, FootprintShape},
    pantry::{Pan, PanShape},
};

/// The tiers of `found` as text, and the names of its slabs.
pub fn written(setup: &Setup, found: &Found, pans: &[Pan]) -> (String, Vec<String>) {
    let mut writer = Writer { setup, text: String::new(), names: Vec::new() };
    let boards: Vec<usize> = (0..found.slabs.len()).filter(|&i| found.slabs[i].board.is_some()).collect();
    let mut starts: Vec<usize> = vec![0];
    starts.extend(boards.iter().copied().filter(|&i| i > 0));
    let foot = setup.foot.as_deref().filter(|_| setup.rules.foot > 0.0);
    if let Some(material) = foot {
        writer.foot(material, found, pans);
    }
    let count = starts.len();
    for (number, &from) in starts.iter().enumerate() {
        let to = starts.get(number + 1).copied().unwrap_or(found.slabs.len());
        let name = tier_name(number, count);
        let slabs = &found.slabs[from..to];
        let (low, high) = (slabs[0].bottom, slabs[slabs.len() - 1].bottom + slabs[slabs.len() - 1].height);
        writer.tier(name, slabs[0].board.as_ref());
        if slabs.len() > 1
            && let Some((material, thickness)) = &setup.filling
        {
            let thickness = writer.length(*thickness);
            let _ = writeln!(
                writer.text,
                "filling = {{ material = {}, thickness = {thickness} }}",
                quoted(material)
            );
        }
        if let Some(board) = found.slabs.get(to).and_then(|slab| slab.board.as_ref()) {
            writer.dowels(board, slabs[0].board.as_ref(), low, high);
        } else if let (Some(board), true) = (&setup.kept.board_above, number + 1 == count) {
            writer.dowels(board, slabs[0].board.as_ref(), low, setup.kept.to.unwrap_or(high));
        }
        for (i, slab) in slabs.iter().enumerate() {
            // What is kept above lies where it lay: the uppermost slab ends just there.
            let is_last = number + 1 == count && i + 1 == slabs.len();
            let height = match setup.kept.to {
                Some(to) if is_last => to - slab.bottom,
                _ => slab.height,
            };
            writer.layer(&pans[slab.pan].shape, &slab.footprint, height, Some(&setup.sponge));
            if let (true, true, Some((material, thickness))) =
                (is_last, setup.kept.filled_above, &setup.filling)
            {
                let thickness = writer.length(*thickness);
                let material = quoted(material);
                let _ =
                    writeln!(writer.text, "filling = {{ material = {material}, thickness = {thickness} }}");
            }
            writer.names.push(format!("{name} {}", i + 1));
        }
    }
    (writer.text, writer.names)
}

fn tier_name(number: usize, count: usize) -> &'static str {
    const NAMES: [&[&str]; 4] = [
        &["body"],
        &["lower", "upper"],
        &["lower", "middle", "upper"],
        &["first", "second", "third", "fourth"],
    ];
    const MORE: [&str; 12] = [
        "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth",
        "eleventh", "twelfth",
    ];
    NAMES.get(count - 1).map_or_else(|| MORE[number.min(11)], |names| names[number])
}

struct Writer<'a> {
    setup: &'a Setup,
    text: String,
    names: Vec<String>,
}

impl Writer<'_> {
    fn tier(&mut self, name: &str, board: Option<&Footprint>) {
        if !self.text.is_empty() {
            self.text.push('\n');
        }
        let _ = writeln!(self.text, "[[tier]]\nname = {}", quoted(name));
        if let Some(board) = board {
            let [width, depth] = board.shape.size();
            let size = match board.shape {
                FootprintShape::Round { diameter } => format!("round = {}", self.length(diameter)),
                FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) => {
                    format!("rectangle = [{}, {}]", self.length(width), self.length(depth))
                }
            };
            let hole = self.setup.design.centre_dowel.as_ref().map_or_else(String::new, |dowel| {
                let mark = self.setup.rules.mark;
                let hole = ((dowel.diameter + 2.0) / mark).ceil() * mark;
                format!(", hole = {}", self.measured(hole))
            });
            let _ = writeln!(
                self.text,
                "board = {{ {size}, thickness = {}{hole}, material = {}{} }}",
                self.length(self.setup.rules.board),
                quoted(&self.setup.board),
                self.place(board)
            );
        }
    }

    fn foot(&mut self, material: &str, found: &Found, pans: &[Pan]) {
        let height = self.setup.rules.foot;
        self.tier("foot", None);
        if let Some(board) = &found.slabs[0].board {
            self.dowels(board, None, 0.0, height);
        }
        let problem = self.setup.problem(pans, &self.setup.rules);
        let mut fitting: Vec<(&Pan, Footprint)> = pans
            .iter()
            .enumerate()
            .filter(|(p, _)| !problem.is_dome(*p))
            .filter_map(|(p, pan)| Some((pan, problem.fit(p, 0.0, height)?.0)))
            .collect();
        fitting.sort_by(|a, b| a.0.shape.area().total_cmp(&b.0.shape.area()));
        if let Some((pan, placed)) = fitting.first() {
            self.layer(&pan.shape, placed, height, Some(material));
        } else {
            // It is built and not baked: where no pan is wide enough it is as wide as the cake.
            let mark = self.setup.rules.mark;
            let diameter = (2.0 * self.setup.design.widest() / mark).ceil() * mark;
            let shape = FootprintShape::Round { diameter };
            let placed = Footprint { shape, centre: DVec2::ZERO, turn: 0.0 };
            self.layer(&PanShape::Round(diameter), &placed, height, Some(material));
        }
    }

    fn dowels(&mut self, board: &Footprint, under: Option<&Footprint>, low: f64, high: f64) {
        let places = dowels::places(self.setup, board, under, low, high);
        let Some(kind) = self.setup.dowel.as_ref().filter(|_| !places.is_empty()) else { return };
        let at: Vec<String> =
            places.iter().map(|p| format!("[{}, {}]", self.measured(p.x), self.measured(p.y))).collect();
        let _ = writeln!(
            self.text,
            "dowels = {{ diameter = {}, material = {}, at = [{}] }}",
            self.length(kind.diameter),
            quoted(&kind.material),
            at.join(", ")
        );
    }

    fn layer(&mut self, pan: &PanShape, placed: &Footprint, height: f64, material: Option<&str>) {
        let size = self.pan(pan);
        let height = match *pan {
            PanShape::HalfBall(d) => self.within_half(height, d),
            _ => self.measured(height),
        };
        let _ = writeln!(self.text, "\n[[tier.layer]]\npan = {{ {size} }}\nheight = {height}");
        if let Some(pieces) = placed.shape.pieces() {
            self.text.push_str("pieces = [\n");
            for piece in pieces.list() {
                let (width, depth) = (self.measured(piece.width), self.measured(piece.depth));
                let (x, y) = (self.measured(piece.at.x), self.measured(piece.at.y));
                let own = if piece.pan == pieces.pan() {
                    String::new()
                } else {
                    format!(", pan = {{ {} }}", self.pan(&PanShape::Rectangle(piece.pan[0], piece.pan[1])))
                };
                let _ = writeln!(self.text, "    {{ size = [{width}, {depth}], at = [{x}, {y}]{own} }},");
            }
            self.text.push_str("]\n");
        }
        if let Some(material) = material.filter(|material| *material != "sponge") {
            let _ = writeln!(self.text, "material = {}", quoted(material));
        }
        if placed.centre != DVec2::ZERO {
            let (x, y) = (self.measured(placed.centre.x), self.measured(placed.centre.y));
            let _ = writeln!(self.text, "offset = [{x}, {y}]");
        }
        if placed.turn != 0.0 {
            let _ = writeln!(self.text, "turn = {}", number(placed.turn));
        }
    }

    /// The form and size of a pan, as a cake file has it.
    fn pan(&self, pan: &PanShape) -> String {
        match *pan {
            PanShape::Round(d) => format!("round = {}", self.length(d)),
            PanShape::HalfBall(d) => format!("half_ball = {}", self.length(d)),
            PanShape::Rectangle(w, d) if w == d => format!("square = {}", self.length(w)),
            PanShape::Rectangle(w, d) => format!("rectangle = [{}, {}]", self.length(w), self.length(d)),
        }
    }

    /// The height of a half-ball as it is written: never more than half of its diameter as that is written.
    fn within_half(&self, height: f64, diameter: f64) -> String {
        /// What lengths are written to, mm.
        const HUNDREDTH: f64 = 0.01;
        let read = |text: &str| parse_length(text.trim_matches('"'), self.setup.unit).unwrap_or(0.0);
        let most = read(&self.length(diameter)) / 2.0;
        let lower = (0..4).map(|i| ((height / HUNDREDTH).floor() - f64::from(i)) * HUNDREDTH);
        let tries: Vec<String> = std::iter::once(height).chain(lower).map(|mm| self.measured(mm)).collect();
        let fits = |text: &&String| read(text) <= most + 1e-9;
        tries.iter().find(fits).or(tries.last()).cloned().unwrap_or_default()
    }

    fn place(&self, placed: &Footprint) -> String {
        let mut text = String::new();
        if placed.centre != DVec2::ZERO {
            let (x, y) = (self.measured(placed.centre.x), self.measured(placed.centre.y));
            let _ = write!(text, ", offset = [{x}, {y}]");
        }
        if placed.turn != 0.0 {
            let _ = write!(text, ", turn = {}", number(placed.turn));
        }
        text
    }

    /// The size of something that is bought.
    fn length(&self, mm: f64) -> String {
        length(mm, self.setup.unit)
    }

    /// What the maker measures.
    fn measured(&self, mm: f64) -> String {
        measured(mm, self.setup.unit)
    }
}

/// A length to be measured off, in a file whose bare numbers are in `unit`.
fn measured(mm: f64, unit: Unit) -> String {
    match LengthForm::bare(unit).write(mm) {
        Ok(EditValue::Integer(whole)) => whole.to_string(),
        Ok(EditValue::Float(decimal)) => decimal.to_string(),
        _ => number(mm / unit.in_mm()),
    }
}

/// The size of something that is bought, as it is sold, in a file whose bare numbers are in `unit`: millimetres where
/// those are whole, or else inches.
fn length(mm: f64, unit: Unit) -> String {
    let sixteenths = mm / MM_PER_INCH * 16.0;
    let in_inches = (sixteenths - sixteenths.round()).abs() < 1e-6;
    // Pans are known by their inches.
    let halves = in_inches && mm >= 50.0 && (sixteenths / 8.0 - (sixteenths / 8.0).round()).abs() < 1e-6;
    let whole = (mm - mm.round()).abs() < 1e-6 && !halves;
    match unit {
        Unit::Inch if in_inches => number(sixteenths.round() / 16.0),
        Unit::Inch => format!("\"{} mm\"", number(mm)),
        Unit::Millimetre if whole || !in_inches => number(mm),
        Unit::Centimetre if whole || !in_inches => number(mm / 10.0),
        _ => format!("\"{} in\"", mixed(sixteenths.round() as i64)),
    }
}

/// Sixteenths of an inch as a mixed fraction.
fn mixed(sixteenths: i64) -> String {
    let (mut over, mut under) = (sixteenths.abs() % 16, 16);
    while over > 0 && over % 2 == 0 {
        (over, under) = (over / 2, under / 2);
    }
    let sign = if sixteenths < 0 { "-" } else { "" };
    match (sixteenths.abs() / 16, over) {
        (whole, 0) => format!("{sign}{whole}"),
        (0, over) => format!("{sign}{over}/{under}"),
        (whole, over) => format!("{sign}{whole} {over}/{under}"),
    }
}

/// To the micrometre, without zeros that say nothing.
fn number(x: f64) -> String {
    let text = format!("{x:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.to_owned() }
}

fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_written_as_a_maker_would() {
        assert_eq!(length(203.2, Unit::Millimetre), "\"8 in\"");
        assert_eq!(length(55.0, Unit::Millimetre), "55");
        assert_eq!(length(44.45, Unit::Inch), "1.75");
        assert_eq!(length(4.0, Unit::Inch), "\"4 mm\"");
        assert_eq!(length(254.0, Unit::Millimetre), "\"10 in\"");
        assert_eq!(length(6.35, Unit::Centimetre), "\"1/4 in\"");
        assert_eq!(measured(31.75, Unit::Inch), "1.25");
        assert_eq!(measured(30.0, Unit::Inch), "1.181");
        assert_eq!(measured(203.2, Unit::Millimetre), "203.2");
        assert_eq!(measured(-16.0, Unit::Centimetre), "-1.6");
    }
}
