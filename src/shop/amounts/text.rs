//! Amounts for a person at a terminal.

use std::fmt::Write;

use super::{Amounts, Made, PRESENTATION, Shopping};
use crate::words::listed;
use formats::model::Rgb;
use geom::units::UnitStyle;
use make::report::table;
use plan::design::IcingWay;

/// What stands where there is no figure.
const NONE: &str = "–";

/// Everything to bake, mix and buy, as text.
pub fn text(amounts: &Amounts) -> String {
    let writer = TextWriter { amounts, style: amounts.style };
    let parts = [
        format!("{}: what to bake, mix and buy\n", amounts.name),
        writer.findings(),
        writer.bakes(),
        writer.made(),
        writer.icing(),
        writer.supports(),
        writer.offcuts(),
        writer.servings(),
        format!("\nTo buy\n{}", shopping_text(&amounts.shopping, writer.style)),
    ];
    parts.concat()
}

struct TextWriter<'a> {
    amounts: &'a Amounts,
    style: UnitStyle,
}

impl TextWriter<'_> {
    fn mm(&self, mm: f64) -> String {
        self.style.length_alone(mm)
    }

    fn mass(&self, grams: f64) -> String {
        self.style.mass(grams)
    }

    fn volume(&self, millilitres: f64) -> String {
        self.style.volume(millilitres * 1000.0)
    }

    fn findings(&self) -> String {
        let mut out = String::new();
        for found in &self.amounts.findings {
            let _ = write!(out, "\n  {}\n    fix: {}\n", found.message, found.fix);
        }
        out
    }

    fn bakes(&self) -> String {
        let unit = self.amounts.unit;
        let mut rows = Vec::new();
        for group in &self.amounts.bakes {
            for (i, bake) in group.bakes.iter().enumerate() {
                let layers: Vec<String> = bake
                    .layers
                    .iter()
                    .map(|(name, height)| format!("{name} ({})", self.mm(*height)))
                    .collect();
                let cut = match &bake.pieces[..] {
                    [] => layers.join(", "),
                    pieces => format!("pieces {} of {}", pieces.join(", "), layers.join(", ")),
                };
                let first = i == 0;
                rows.push(vec![
                    if first { group.pan.shape.name(unit) } else { String::new() },
                    if first { group.material.clone() } else { String::new() },
                    cut,
                    self.mass(group.batter_g),
                    group.batter_ml.map_or(NONE.into(), |ml| self.volume(ml)),
                ]);
            }
        }
        let count: usize = self.amounts.bakes.iter().map(|group| group.bakes.len()).sum();
        let loads = self.amounts.loads;
        format!("\nBakes: {count} in {loads} oven load{}\n", if loads == 1 { "" } else { "s" })
            + &table(&["pan", "material", "layers cut from it", "batter", "by volume"], 3, rows)
    }

    fn made(&self) -> String {
        let row = |made: &Made| {
            let colour = made.colour.map_or_else(String::new, |rgb| format!(" {}", hex(rgb)));
            let parts: Vec<String> = if made.parts.len() > 1 {
                made.parts
                    .iter()
                    .map(|(part, grams)| format!("{part} {}", self.style.mass_alone(*grams)))
                    .collect()
            } else {
                Vec::new()
            };
            let mixings = made.mixings.map_or_else(String::new, |n| format!("{n} mixings: "));
            vec![
                made.purpose.name().to_owned(),
                format!("{}{colour}", made.material),
                self.style.mass_alone(made.on_cake_g),
                self.mass(made.made_g),
                made.made_ml.map_or(NONE.into(), |ml| self.style.volume_alone(ml * 1000.0)),
                format!("{mixings}{}", parts.join(", ")),
            ]
        };
        let rows: Vec<Vec<String>> = self.amounts.made.iter().map(row).collect();
        // The last column reads like the first.
        let head = ["for", "material", "on the cake", "make", "by volume", "out of"];
        "\nWhat is mixed\n".to_owned() + &table_with_words(&head, rows)
    }

    fn icing(&self) -> String {
        if self.amounts.icing.is_empty() {
            return String::new();
        }
        let mut out = "\nRolled icing\n".to_owned();
        for icing in &self.amounts.icing {
            let _ = writeln!(
                out,
                "  {} {} {}: {}; {} lie on the cake, {} are {}",
                self.style.length_alone(icing.thickness_mm),
                icing.material,
                hex(icing.colour),
                icing.laid,
                self.style.area(icing.net_cm2 * 100.0),
                self.style.area(icing.cut_cm2 * 100.0),
                if icing.way == IcingWay::Draped { "rolled" } else { "cut" }
            );
            let _ = writeln!(
                out,
                "    {} on the cake, {} trimmed off (wrapped at once and kept for details), {} to make",
                self.mass(icing.on_cake_g),
                self.mass(icing.trimmed_g),
                self.mass(icing.made_g)
            );
        }
        out
    }

    fn supports(&self) -> String {
        let mut out = "\nBoards and dowels\n".to_owned();
        for board in &self.amounts.boards {
            let [w, d] = board.size_mm;
            let size = if board.round {
                format!("round {}", self.mm(w))
            } else {
                format!("{} × {}", self.mm(w), self.mm(d))
            };
            let hole = if board.hole_mm > 0.0 {
                format!(", hole {}", self.mm(board.hole_mm))
            } else {
                String::new()
            };
            let _ = writeln!(
                out,
                "  {}: {size} of {} {}{hole}",
                board.name,
                self.style.length_alone(board.thickness_mm),
                board.material
            );
        }
        if self.amounts.boards.iter().any(|board| board.name != PRESENTATION) {
            out.push_str(
                "  Boards inside the cake touch food: food-contact board, or wrapped in food-contact film or foil. Bare \
                 plywood is neither.\n",
            );
        }
        let mut count = 0;
        for dowel in &self.amounts.dowels {
            let lengths: Vec<String> =
                dowel.lengths.iter().map(|(n, length)| format!("{n} × {}", self.mm(*length))).collect();
            count += dowel.lengths.iter().map(|(n, _)| n).sum::<u32>();
            let stock = if dowel.stock_mm > 0.0 {
                format!(" out of {} of {}", dowel.bought, self.mm(dowel.stock_mm))
            } else {
                String::new()
            };
            let _ = writeln!(
                out,
                "  {} {} thick: {}{stock}",
                dowel.material,
                self.style.length_alone(dowel.diameter_mm),
                lengths.join(", ")
            );
        }
        if count > 0 {
            let _ = writeln!(out, "  {count} dowels in all: count them out again before the cake is served.");
        }
        out
    }

    fn offcuts(&self) -> String {
        let rows = self
            .amounts
            .offcuts
            .iter()
            .map(|offcut| vec![offcut.layer.clone(), self.style.mass_alone(offcut.mass_g)]);
        format!(
            "\nOffcut: {} with the rests of bakes, enough for {} cake truffles\n",
            self.mass(self.amounts.offcut_g),
            self.amounts.truffles
        ) + &table(&["layer", "offcut"], 1, rows.collect())
    }

    fn servings(&self) -> String {
        let servings = &self.amounts.servings;
        let rows = servings.served.iter().map(|served| {
            let tiers: Vec<String> =
                served.tiers.iter().map(|tier| format!("{} {}", tier.tier, tier.pieces)).collect();
            vec![
                served.portion.name.clone(),
                served.by_volume.to_string(),
                served.by_cutting.to_string(),
                self.style.volume_alone(served.rim_ml * 1000.0),
                tiers.join(", "),
            ]
        });
        let head = ["portion", "by volume", "by cutting", "too small to serve", "tier by tier"];
        format!(
            "\nServings: {} of cake and filling stay\n{}  By volume all of it counts; by cutting, pieces of a grid \
             that hold two thirds of a portion, wider ones where a tier is low.\n",
            self.volume(servings.kept_ml),
            table_with_words(&head, rows.collect())
        )
    }
}

/// A list of what to buy, with what is in it.
pub fn shopping_text(shopping: &Shopping, style: UnitStyle) -> String {
    let rows = shopping.bought.iter().map(|bought| {
        let packs = match (bought.packs, bought.pack_g) {
            (Some(packs), Some(pack)) => match bought.each_g {
                Some(each) => format!("{packs} × {:.0}", (pack / each).round()),
                None => format!("{packs} × {}", style.mass_alone(pack)),
            },
            _ => "by weight".into(),
        };
        let used = match bought.count() {
            Some(count) => format!("{count}: {}", style.mass(bought.used_g)),
            None => style.mass(bought.used_g),
        };
        vec![bought.name.clone(), used, packs]
    });
    let mut allergens = match (shopping.allergens.is_empty(), shopping.undeclared.is_empty()) {
        (false, _) => format!("  Allergens, as the pantry has them: {}.", listed(&shopping.allergens)),
        (true, true) => "  The pantry declares that no allergens are in it.".into(),
        (true, false) => String::new(),
    };
    if !shopping.undeclared.is_empty() {
        let gap = if allergens.is_empty() { "  " } else { " " };
        allergens += &format!("{gap}Not declared for: {}.", listed(&shopping.undeclared));
    }
    table(&["what", "used", "packs"], 1, rows.collect())
        + &allergens
        + " Read the label of what you buy; the local food code says how allergens are told.\n"
}

/// A colour as a cake file writes it.
fn hex(Rgb(r, g, b): Rgb) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// A table whose first two columns and last are words.
fn table_with_words(head: &[&str], rows: Vec<Vec<String>>) -> String {
    let figures = |row: &Vec<String>| row[..row.len() - 1].to_vec();
    let figures = table(&head[..head.len() - 1], 2, rows.iter().map(figures).collect());
    let words =
        std::iter::once(head[head.len() - 1].to_owned()).chain(rows.iter().map(|r| r[r.len() - 1].clone()));
    let wide = figures.lines().map(|line| line.chars().count()).max().unwrap_or(0);
    figures
        .lines()
        .zip(words)
        .map(|(line, word)| {
            let fill = " ".repeat(wide - line.chars().count());
            format!("{line}{fill}  {word}").trim_end().to_owned() + "\n"
        })
        .collect()
}
