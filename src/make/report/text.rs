//! The report for a person at a terminal: findings first, then the figures that a maker asks for.

use std::fmt::Write;

use anstyle::Style;

use crate::{
    icing::LaidIcing,
    language::{Language, filled, filled_with},
    overview::Overview,
};

use super::{Amount, Carved, LayerEntry, PanEntry, Report, support_text::SupportWriter, table::table};
use geom::units::UnitStyle;
use plan::{
    Plan,
    design::{Depth, Operation},
    pantry::PanShape,
};

const BOLD: Style = Style::new().bold();

/// How much is told of how the figures were found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Explain {
    /// The figures.
    Figures,
    /// Also the rules behind them, with their sources.
    Rules,
}

/// Writes `report` of `plan` under the first screen in `language`, with colours as escape sequences; whoever prints it drops
/// them where they do not belong.
pub fn text(
    plan: &Plan,
    report: &Report,
    overview: &Overview,
    explain: Explain,
    language: &Language,
) -> String {
    let writer = Writer { plan, report, style: language.style(report.style), language };
    let support = SupportWriter { plan, support: &report.support, style: writer.style, language };
    let rules = match explain {
        Explain::Figures => format!("\n{}\n", language.report.explain),
        Explain::Rules => support.rules(),
    };
    let notes = overview.notes();
    [
        writer.title(),
        overview.text(),
        if notes.is_empty() { notes } else { heading(&language.first.know) + &notes },
        support.answers(),
        writer.layers(),
        writer.sheet_cakes(),
        writer.between(),
        writer.shave(),
        writer.lines(),
        writer.dowels(),
        writer.details(),
        support.figures(),
        writer.totals(),
        rules,
    ]
    .concat()
}

struct Writer<'a> {
    plan: &'a Plan,
    report: &'a Report,
    style: UnitStyle,
    language: &'a Language,
}

/// What stands where there is no figure.
pub(super) const NONE: &str = "–";

impl Writer<'_> {
    fn mm(&self, mm: f64) -> String {
        self.style.length_alone(mm)
    }

    fn volume(&self, millilitres: f64) -> String {
        self.style.volume(millilitres * 1000.0)
    }

    fn amount(&self, amount: Amount) -> String {
        if amount.volume_ml == 0.0 { NONE.into() } else { self.style.volume_alone(amount.volume_ml * 1000.0) }
    }

    fn percent(&self, percent: f64) -> String {
        format!("{} %", self.style.numbers.fixed(percent, 0))
    }

    fn name(&self, name: &str) -> String {
        self.language.name(name).to_owned()
    }

    fn title(&self) -> String {
        let shape = &self.report.shape;
        let sizes = [
            ("width", self.style.length(shape.box_width_mm)),
            ("depth", self.style.length(shape.box_depth_mm)),
            ("height", self.style.length(shape.box_height_mm)),
            ("across", self.style.length(shape.box_across_mm)),
            ("mass", self.style.mass(self.report.totals.finished_mass_g)),
        ];
        let sizes = sizes.each_ref().map(|(place, told)| (*place, told.as_str()));
        let said = filled(&self.language.report.size, &sizes);
        format!("{BOLD}{}{BOLD:#}\n{said}\n\n", self.report.name)
    }

    fn layers(&self) -> String {
        let words = &self.language.report;
        let mut rows: Vec<Vec<String>> =
            self.report.layers.iter().rev().map(|layer| self.layer_row(layer)).collect();
        let totals = &self.report.totals;
        for (name, carved) in [(&words.all_sponge, totals.sponge), (&words.other_layers, totals.other_layers)]
        {
            if carved.raw.volume_ml > 0.0 {
                let mut row = vec![name.clone(), String::new(), String::new(), String::new()];
                row.extend(self.carved_cells(carved));
                rows.push(row);
            }
        }
        let columns = [
            &words.layer,
            &words.material,
            &words.pan,
            &words.heights,
            &words.raw,
            &words.kept,
            &words.offcut,
            &words.share,
            &words.shortfall,
        ];
        heading(&words.layers) + &table(&columns.map(String::as_str), 4, rows)
    }

    fn sheet_cakes(&self) -> String {
        let (sheets, words) = (&self.report.sheet_cakes, &self.language.report);
        if sheets.is_empty() {
            return String::new();
        }
        let rows = sheets.iter().enumerate().map(|(i, sheet)| {
            let pieces: Vec<String> = sheet
                .pieces
                .iter()
                .map(|piece| {
                    let letters = self.language.joined(&piece.letters);
                    format!("{letters} ({})", self.style.sides(&piece.size_mm))
                })
                .collect();
            vec![
                filled(&words.sheet_number, &[("number", &(i + 1).to_string())]),
                self.pan(sheet.pan),
                pieces.join(", "),
                self.amount(sheet.baked),
                self.amount(sheet.in_pieces),
                self.amount(sheet.over),
                self.percent(sheet.over_percent),
            ]
        });
        let columns = [
            &words.sheet,
            &words.pan,
            &words.cut_into,
            &words.baked,
            &words.in_pieces,
            &words.left_over,
            &words.share,
        ];
        heading(&words.sheets) + &table(&columns.map(String::as_str), 3, rows.collect())
    }

    fn layer_row(&self, layer: &LayerEntry) -> Vec<String> {
        let words = &self.language.report;
        let span = [("from", self.mm(layer.bottom_mm)), ("to", self.mm(layer.top_mm))];
        let heights = filled_with(&words.span, &span);
        let pan = self.pan(layer.pan);
        let pan = match &layer.pieces[..] {
            [] => pan,
            [one] => filled(&words.piece_of, &[("letter", &one.letter), ("pan", &pan)]),
            [first, .., last] => {
                let said = [("first", &*first.letter), ("last", &*last.letter), ("pan", &*pan)];
                filled(&words.pieces_of, &said)
            }
        };
        let mut row = vec![layer.name.clone(), self.name(&layer.material), pan, heights];
        row.extend(self.carved_cells(layer.carved));
        row
    }

    fn carved_cells(&self, carved: Carved) -> Vec<String> {
        vec![
            self.amount(carved.raw),
            self.amount(carved.kept),
            self.amount(carved.offcut),
            self.percent(carved.offcut_percent),
            if carved.shortfall.volume_ml < 0.05 { NONE.into() } else { self.amount(carved.shortfall) },
        ]
    }

    fn pan(&self, pan: PanEntry) -> String {
        let shape = match pan {
            PanEntry::Round { diameter_mm } => PanShape::Round(diameter_mm),
            PanEntry::HalfBall { diameter_mm } => PanShape::HalfBall(diameter_mm),
            PanEntry::Rectangle { width_mm, depth_mm } => PanShape::Rectangle(width_mm, depth_mm),
        };
        self.language.pan(shape, self.style.length)
    }

    fn between(&self) -> String {
        let words = &self.language.report;
        let part = |name: &str| self.language.part(self.plan, name);
        let mut rows = Vec::new();
        for filling in self.report.fillings.iter().rev() {
            rows.push(vec![
                part(&filling.name),
                self.name(&filling.material),
                self.mm(filling.thickness_mm),
                self.amount(filling.carved.raw),
                self.style.mass_alone(filling.carved.raw.mass_g),
            ]);
        }
        for board in self.report.boards.iter().rev() {
            let (name, pan, hole) = (part(&board.name), self.pan(board.outline), self.mm(board.hole_mm));
            let form = if board.hole_mm > 0.0 { &words.board_with_hole } else { &words.board };
            rows.push(vec![
                filled(form, &[("name", &name), ("pan", &pan), ("hole", &hole)]),
                self.name(&board.material),
                self.mm(board.thickness_mm),
                NONE.into(),
                NONE.into(),
            ]);
        }
        if rows.is_empty() {
            return String::new();
        }
        let columns = [&words.filling_or_board, &words.material, &words.thick, &words.spread, &words.mass];
        heading(&words.between) + &table(&columns.map(String::as_str), 2, rows)
    }

    fn shave(&self) -> String {
        let words = &self.language.report;
        let rows = self.report.layers.iter().rev().map(|layer| {
            let mut row = vec![layer.name.clone()];
            match layer.shave {
                Some(shave) => {
                    let height = self.mm(shave.greatest_at.height_mm);
                    let side = self.language.bearing(shave.greatest_at.bearing_deg);
                    row.extend([
                        self.mm(shave.greatest_mm.max(0.0)),
                        filled(&words.at, &[("height", &height), ("side", &side)]),
                        self.mm(shave.mean_mm),
                    ]);
                }
                None => row.extend([NONE.into(), String::new(), NONE.into()]),
            }
            row.push(layer.spare.map_or(NONE.into(), |spare| self.mm(spare.least_mm)));
            row
        });
        let columns = [&words.layer, &words.deepest, &words.r#where, &words.mean, &words.spare];
        heading(&words.depths) + &table(&columns.map(String::as_str), 1, rows.collect())
    }

    fn lines(&self) -> String {
        let words = &self.language.report;
        let rows = self.report.lines.iter().enumerate().map(|(i, line)| {
            let coat = self.report.coverings.get(i);
            vec![
                self.language.line(&line.name),
                self.mm(line.height_mm),
                self.mm(line.diameter_mm),
                self.style.volume_alone(line.volume_ml * 1000.0),
                coat.map_or(String::new(), |c| {
                    format!("{} {}", self.mm(c.thickness_mm), self.language.name(&c.material))
                }),
                coat.map_or(String::new(), |c| self.style.mass_alone(c.mass_g)),
            ]
        });
        let columns = [
            &words.line,
            &words.height,
            &words.widest,
            &words.inside,
            &words.coat_inside,
            &words.mass_on_cake,
        ];
        let laid = LaidIcing::all(self.plan, self.language).map(|laid| {
            let said = [
                ("thick", self.mm(laid.covering.thickness)),
                ("material", laid.name()),
                ("laid", laid.brief()),
            ];
            let said = said.each_ref().map(|(place, told)| (*place, told.as_str()));
            format!("  {}\n", filled(&words.laid, &said))
        });
        let zones = self.report.coverings.iter().flat_map(|covering| &covering.zones).map(|zone| {
            let said = [
                ("zone", zone.name.clone().unwrap_or_else(|| words.zone_rest.clone())),
                ("material", self.name(&zone.material)),
                ("area", self.language.number(zone.area_cm2, 0)),
                ("mass", self.style.mass_alone(zone.mass_g)),
            ];
            let said = said.each_ref().map(|(place, told)| (*place, told.as_str()));
            format!("  {}\n", filled(&words.zone, &said))
        });
        heading(&words.lines)
            + &table(&columns.map(String::as_str), 1, rows.collect())
            + &laid.collect::<String>()
            + &zones.collect::<String>()
    }

    fn dowels(&self) -> String {
        let words = &self.language.report;
        if self.report.dowels.is_empty() {
            return String::new();
        }
        let rows = self.report.dowels.iter().map(|dowel| {
            let [x, y] = dowel.at_mm;
            vec![
                self.language.part(self.plan, &dowel.name),
                self.name(&dowel.material),
                self.mm(dowel.diameter_mm),
                self.mm(dowel.length_mm),
                self.mm(dowel.bottom_mm),
                self.language.place(self.style, x, y),
            ]
        });
        let columns =
            [&words.dowel, &words.material, &words.thick, &words.cut_to, &words.stands_at, &words.place];
        let count = self.report.dowels.len().to_string();
        heading(&words.dowels)
            + &table(&columns.map(String::as_str), 2, rows.collect())
            + &format!("  {}\n", filled(&words.all_dowels, &[("count", &count)]))
    }

    fn details(&self) -> String {
        let words = &self.language.report;
        if self.report.details.is_empty() {
            return String::new();
        }
        let rows = self.report.details.iter().map(|detail| {
            let operation = match (detail.operation, detail.depth) {
                (Operation::Cut, Depth::Sponge) => &words.cut_sponge,
                (Operation::Cut, Depth::Coating) => &words.cut_coating,
                (Operation::Cut, Depth::Icing) => &words.cut_icing,
                (Operation::Add, Depth::Sponge) => &words.add_sponge,
                (Operation::Add, Depth::Coating) => &words.add_coating,
                (Operation::Add, Depth::Icing) => &words.add_icing,
            };
            let name = match detail.count {
                1 => detail.name.clone(),
                count => format!("{} × {count}", detail.name),
            };
            vec![
                name,
                operation.clone(),
                detail.material.as_deref().map_or(String::new(), |material| self.name(material)),
                detail.amount.map_or(NONE.into(), |a| self.style.mass_alone(a.mass_g)),
            ]
        });
        let columns = [&words.detail, &words.how, &words.material, &words.mass];
        heading(&words.details) + &table(&columns.map(String::as_str), 3, rows.collect())
    }

    fn totals(&self) -> String {
        let (totals, words) = (&self.report.totals, &self.language.report);
        let mut out = heading(&words.totals);
        let mut line = |text: &str| {
            let _ = writeln!(out, "  {text}");
        };
        line(&filled(
            &words.raw_mass,
            &[
                ("raw", &self.style.mass(totals.raw_mass_g)),
                ("offcut", &self.style.mass(totals.sponge.offcut.mass_g)),
                ("share", &self.style.numbers.fixed(totals.sponge.offcut_percent, 0)),
            ],
        ));
        let of = |form: &str, millilitres: f64| filled(form, &[("volume", &self.volume(millilitres))]);
        line(&of(&words.holds, totals.carved_ml));
        if totals.shortfall_ml > 0.05 {
            line(&of(&words.outside, totals.shortfall_ml));
        }
        if totals.beside_boards_and_fillings_ml > 0.05 {
            line(&of(&words.beside, totals.beside_boards_and_fillings_ml));
        }
        line(&words.densities);
        out
    }
}

pub(super) fn heading(text: &str) -> String {
    format!("\n{BOLD}{text}{BOLD:#}\n")
}
