//! The report for a person at a terminal: findings first, then the figures that a maker asks for.

use std::fmt::Write;

use anstyle::Style;

use crate::{language::Language, overview::Overview};

use super::{Amount, Carved, LayerEntry, PanEntry, Report, support_text, table::table};
use geom::units::UnitStyle;

const BOLD: Style = Style::new().bold();

/// How much is told of how the figures were found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Explain {
    /// The figures.
    Figures,
    /// Also the rules behind them, with their sources.
    Rules,
}

/// Writes `report` under the first screen, with colours as escape sequences; whoever prints it drops them where they do
/// not belong.
pub fn text(report: &Report, overview: &Overview, explain: Explain) -> String {
    let writer = Writer { report, style: report.style };
    let rules = match explain {
        Explain::Figures => "\n`--explain` adds the rules behind these figures, with their sources.\n".into(),
        Explain::Rules => support_text::rules(&report.support, writer.style),
    };
    let notes = overview.notes();
    [
        writer.title(),
        overview.text(),
        if notes.is_empty() { notes } else { heading("Good to know") + &notes },
        support_text::answers(&report.support, writer.style),
        writer.layers(),
        writer.sheet_cakes(),
        writer.between(),
        writer.shave(),
        writer.lines(),
        writer.dowels(),
        writer.details(),
        support_text::figures(&report.support, writer.style),
        writer.totals(),
        rules,
    ]
    .concat()
}

struct Writer<'a> {
    report: &'a Report,
    style: UnitStyle,
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

    fn title(&self) -> String {
        let shape = &self.report.shape;
        format!(
            "{BOLD}{}{BOLD:#}\n{} wide, {} deep and {} high with all adds, {} across at most; the finished cake \
             weighs about {}\n\n",
            self.report.name,
            self.style.length(shape.box_width_mm),
            self.style.length(shape.box_depth_mm),
            self.style.length(shape.box_height_mm),
            self.style.length(shape.box_across_mm),
            self.style.mass(self.report.totals.finished_mass_g)
        )
    }

    fn layers(&self) -> String {
        let mut rows: Vec<Vec<String>> =
            self.report.layers.iter().rev().map(|layer| self.layer_row(layer)).collect();
        for (name, carved) in
            [("all sponge", self.report.totals.sponge), ("other layers", self.report.totals.other_layers)]
        {
            if carved.raw.volume_ml > 0.0 {
                let mut row = vec![name.into(), String::new(), String::new(), String::new()];
                row.extend(self.carved_cells(carved));
                rows.push(row);
            }
        }
        let columns = [
            "layer (top first)",
            "material",
            "pan",
            "heights",
            "raw",
            "kept",
            "offcut",
            "share",
            "shortfall",
        ];
        heading("Offcut: what is carved off each layer") + &table(&columns, 4, rows)
    }

    fn sheet_cakes(&self) -> String {
        let sheets = &self.report.sheet_cakes;
        if sheets.is_empty() {
            return String::new();
        }
        let rows = sheets.iter().enumerate().map(|(i, sheet)| {
            let pieces: Vec<String> = sheet
                .pieces
                .iter()
                .map(|piece| {
                    format!("{} ({})", piece.letters.join(" and "), self.style.sides(&piece.size_mm))
                })
                .collect();
            vec![
                format!("sheet cake {}", i + 1),
                self.pan(sheet.pan),
                pieces.join(", "),
                self.amount(sheet.baked),
                self.amount(sheet.in_pieces),
                self.amount(sheet.over),
                format!("{:.0} %", sheet.over_percent),
            ]
        });
        let columns = ["sheet cake", "pan", "cut into", "baked", "in pieces", "left over", "share"];
        heading("What sheet cakes are cut into") + &table(&columns, 3, rows.collect())
    }

    fn layer_row(&self, layer: &LayerEntry) -> Vec<String> {
        let heights = format!("{} to {}", self.mm(layer.bottom_mm), self.mm(layer.top_mm));
        let pan = match &layer.pieces[..] {
            [] => self.pan(layer.pan),
            [one] => format!("piece {} of {}", one.letter, self.pan(layer.pan)),
            [first, .., last] => {
                format!("pieces {} to {} of {}", first.letter, last.letter, self.pan(layer.pan))
            }
        };
        let mut row = vec![layer.name.clone(), layer.material.clone(), pan, heights];
        row.extend(self.carved_cells(layer.carved));
        row
    }

    fn carved_cells(&self, carved: Carved) -> Vec<String> {
        vec![
            self.amount(carved.raw),
            self.amount(carved.kept),
            self.amount(carved.offcut),
            format!("{:.0} %", carved.offcut_percent),
            if carved.shortfall.volume_ml < 0.05 { NONE.into() } else { self.amount(carved.shortfall) },
        ]
    }

    fn pan(&self, pan: PanEntry) -> String {
        let size = |mm: f64| self.style.pan_size(mm);
        match pan {
            PanEntry::Round { diameter_mm } => format!("round {}", size(diameter_mm)),
            PanEntry::HalfBall { diameter_mm } => format!("half-ball {}", size(diameter_mm)),
            PanEntry::Rectangle { width_mm, depth_mm } if width_mm == depth_mm => {
                format!("square {}", size(width_mm))
            }
            PanEntry::Rectangle { width_mm, depth_mm } => {
                format!("{} × {}", size(width_mm), size(depth_mm))
            }
        }
    }

    fn between(&self) -> String {
        let mut rows = Vec::new();
        for filling in self.report.fillings.iter().rev() {
            rows.push(vec![
                filling.name.clone(),
                filling.material.clone(),
                self.mm(filling.thickness_mm),
                self.amount(filling.carved.raw),
                self.style.mass_alone(filling.carved.raw.mass_g),
            ]);
        }
        for board in self.report.boards.iter().rev() {
            let hole = if board.hole_mm > 0.0 {
                format!(", hole {}", self.mm(board.hole_mm))
            } else {
                String::new()
            };
            rows.push(vec![
                format!("{} ({}{hole})", board.name, self.pan(board.outline)),
                board.material.clone(),
                self.mm(board.thickness_mm),
                NONE.into(),
                NONE.into(),
            ]);
        }
        if rows.is_empty() {
            return String::new();
        }
        heading("Between the layers")
            + &table(&["filling or board (top first)", "material", "thick", "spread", "mass"], 2, rows)
    }

    fn shave(&self) -> String {
        let rows = self.report.layers.iter().rev().map(|layer| {
            let mut row = vec![layer.name.clone()];
            match layer.shave {
                Some(shave) => row.extend([
                    self.mm(shave.greatest_mm.max(0.0)),
                    format!(
                        "at height {}, {}",
                        self.mm(shave.greatest_at.height_mm),
                        Language::english().bearing(shave.greatest_at.bearing_deg)
                    ),
                    self.mm(shave.mean_mm),
                ]),
                None => row.extend([NONE.into(), String::new(), NONE.into()]),
            }
            row.push(layer.spare.map_or(NONE.into(), |spare| self.mm(spare.least_mm)));
            row
        });
        let columns = ["layer (top first)", "deepest", "where", "mean", "spare at the side"];
        heading("How deep the knife goes") + &table(&columns, 1, rows.collect())
    }

    fn lines(&self) -> String {
        let rows = self.report.lines.iter().enumerate().map(|(i, line)| {
            let coat = self.report.coverings.get(i);
            vec![
                line.name.clone(),
                self.mm(line.height_mm),
                self.mm(line.diameter_mm),
                self.style.volume_alone(line.volume_ml * 1000.0),
                coat.map_or(String::new(), |c| format!("{} {}", self.mm(c.thickness_mm), c.material)),
                coat.map_or(String::new(), |c| self.style.mass_alone(c.mass_g)),
            ]
        });
        let columns = ["line", "height", "widest", "inside", "coat inside this line", "mass on the cake"];
        let laid = self.report.coverings.iter().filter_map(|coat| {
            let laid = coat.laid.as_ref()?;
            Some(format!(
                "  {} {} is laid {laid}.\n",
                self.style.length_alone(coat.thickness_mm),
                coat.material
            ))
        });
        heading("Lines, from the outside in")
            + &table(&columns, 1, rows.collect())
            + &laid.collect::<String>()
    }

    fn dowels(&self) -> String {
        if self.report.dowels.is_empty() {
            return String::new();
        }
        let rows = self.report.dowels.iter().map(|dowel| {
            let [x, y] = dowel.at_mm;
            vec![
                dowel.name.clone(),
                dowel.material.clone(),
                self.mm(dowel.diameter_mm),
                self.mm(dowel.length_mm),
                self.mm(dowel.bottom_mm),
                self.style.place(x, y),
            ]
        });
        let columns = ["dowel", "material", "thick", "cut to", "stands at", "place"];
        let count = self.report.dowels.len();
        heading("Dowels")
            + &table(&columns, 2, rows.collect())
            + &format!("  {count} in all: count them out again before the cake is served.\n")
    }

    fn details(&self) -> String {
        if self.report.details.is_empty() {
            return String::new();
        }
        let rows = self.report.details.iter().map(|detail| {
            let depth = match detail.depth {
                plan::design::Depth::Sponge => "sponge",
                plan::design::Depth::Coating => "coating",
                plan::design::Depth::Icing => "icing",
            };
            let operation = match detail.operation {
                plan::design::Operation::Cut => format!("cut in the {depth}"),
                plan::design::Operation::Add => format!("add on the {depth}"),
            };
            vec![
                detail.name.clone(),
                operation,
                detail.material.clone().unwrap_or_default(),
                detail.amount.map_or(NONE.into(), |a| self.style.mass_alone(a.mass_g)),
            ]
        });
        heading("Cuts and adds") + &table(&["detail", "how", "material", "mass"], 3, rows.collect())
    }

    fn totals(&self) -> String {
        let totals = &self.report.totals;
        let mut out = heading("In all");
        let mut line = |text: String| {
            let _ = writeln!(out, "  {text}");
        };
        line(format!(
            "The raw stack weighs about {}; {} of sponge come off ({:.0} %).",
            self.style.mass(totals.raw_mass_g),
            self.style.mass(totals.sponge.offcut.mass_g),
            totals.sponge.offcut_percent
        ));
        line(format!("The carved shape holds {}.", self.volume(totals.carved_ml)));
        if totals.shortfall_ml > 0.05 {
            line(format!("{} of it lie outside every layer.", self.volume(totals.shortfall_ml)));
        }
        if totals.beside_boards_and_fillings_ml > 0.05 {
            let beside = self.volume(totals.beside_boards_and_fillings_ml);
            line(format!("{beside} of it lie beside boards and fillings: fill them when you coat the cake."));
        }
        line(
            "Masses follow from the densities in use; weigh your own cake and write its density in the file."
                .into(),
        );
        out
    }
}

pub(super) fn heading(text: &str) -> String {
    format!("\n{BOLD}{text}{BOLD:#}\n")
}
