//! Amounts for a person at a terminal.

use std::fmt::Write;

use super::{Amounts, BakeGroup, Bought, Made, PRESENTATION, Shopping, rolls::rolls};
use formats::model::Rgb;
use geom::units::UnitStyle;
use make::{
    icing::LaidIcing,
    language::{Language, filled},
    report::{table, wrapped},
};
use plan::{Plan, design::IcingWay};

/// What stands where there is no figure.
const NONE: &str = "–";

/// Everything to bake, mix and buy for `plan`, as text in `language`.
pub fn text(amounts: &Amounts, plan: &Plan, language: &Language) -> String {
    let writer = TextWriter { amounts, plan, language, style: language.style(amounts.style) };
    let words = &language.amounts;
    let parts = [
        filled(&words.heading, &[("cake", &amounts.name)]) + "\n",
        writer.findings(),
        writer.bakes(),
        writer.made(),
        writer.icing(),
        writer.rolls(),
        writer.supports(),
        writer.offcuts(),
        writer.servings(),
        format!("\n{}\n{}", words.buy, shopping_text(&amounts.shopping, amounts.style, language)),
    ];
    parts.concat()
}

struct TextWriter<'a> {
    amounts: &'a Amounts,
    plan: &'a Plan,
    language: &'a Language,
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
            let (what, fix) = self.language.trouble(found, self.amounts.unit);
            let fix = filled(&self.language.check.fix, &[("fix", &fix)]);
            let _ = write!(out, "\n  {what}\n    {fix}\n");
        }
        out
    }

    fn bakes(&self) -> String {
        let words = &self.language.amounts;
        let rows: Vec<Vec<String>> =
            self.amounts.bakes.iter().flat_map(|group| self.bake_rows(group)).collect();
        let count: usize = self.amounts.bakes.iter().map(|group| group.bakes.len()).sum();
        let loads = self.amounts.loads;
        let form = if loads == 1 { &words.bakes_in_one } else { &words.bakes };
        let heading = filled(form, &[("count", &count.to_string()), ("loads", &loads.to_string())]);
        let columns = [&words.pan, &words.material, &words.cut_from, &words.batter, &words.by_volume];
        format!("\n{heading}\n") + &table(&columns.map(String::as_str), 3, rows)
    }

    /// A row for each bake; the first names pan and material.
    fn bake_rows(&self, group: &BakeGroup) -> Vec<Vec<String>> {
        let words = &self.language.amounts;
        let row = |(i, bake): (usize, &super::Baked)| {
            let layer = |(name, height): &(String, f64)| format!("{name} ({})", self.mm(*height));
            let layers = bake.layers.iter().map(layer).collect::<Vec<_>>().join(", ");
            let cut = match &bake.pieces[..] {
                [] => layers,
                pieces => filled(&words.pieces_of, &[("pieces", &pieces.join(", ")), ("layers", &layers)]),
            };
            let named = |name: String| if i == 0 { name } else { String::new() };
            vec![
                named(self.language.pan(group.pan.shape, self.amounts.unit)),
                named(self.language.name(&group.material).to_owned()),
                cut,
                self.mass(group.batter_g),
                group.batter_ml.map_or(NONE.into(), |ml| self.volume(ml)),
            ]
        };
        group.bakes.iter().enumerate().map(row).collect()
    }

    fn made(&self) -> String {
        let words = &self.language.amounts;
        let row = |made: &Made| {
            let colour = made.colour.map_or_else(String::new, |rgb| format!(" {}", hex(rgb)));
            let part = |(part, grams): &(String, f64)| {
                format!("{} {}", self.language.name(part), self.style.mass_alone(*grams))
            };
            let parts: Vec<String> =
                if made.parts.len() > 1 { made.parts.iter().map(part).collect() } else { Vec::new() };
            let parts = parts.join(", ");
            let parts = match made.mixings {
                Some(count) => {
                    let said = [("count", &*count.to_string()), ("parts", &*parts)];
                    filled(&words.mixings, &said)
                }
                None => parts,
            };
            vec![
                made.purpose.told(self.language).to_owned(),
                format!("{}{colour}", self.language.name(&made.material)),
                self.style.mass_alone(made.on_cake_g),
                self.mass(made.made_g),
                made.made_ml.map_or(NONE.into(), |ml| self.style.volume_alone(ml * 1000.0)),
                parts,
            ]
        };
        let rows: Vec<Vec<String>> = self.amounts.made.iter().map(row).collect();
        // The last column reads like the first.
        let head = [
            &words.purpose,
            &words.material,
            &words.on_the_cake,
            &words.make,
            &words.by_volume,
            &words.out_of,
        ];
        format!("\n{}\n", words.mixed) + &table_with_words(&head.map(String::as_str), rows)
    }

    fn icing(&self) -> String {
        if self.amounts.icing.is_empty() {
            return String::new();
        }
        let words = &self.language.amounts;
        let mut out = format!("\n{}\n", words.icing);
        for (icing, laid) in self.amounts.icing.iter().zip(LaidIcing::all(self.plan, self.language)) {
            let form = if icing.way == IcingWay::Draped { &words.rolled } else { &words.cut };
            let said = filled(
                form,
                &[
                    ("thick", &self.mm(icing.thickness_mm)),
                    ("material", &laid.name()),
                    ("colour", &hex(icing.colour)),
                    ("laid", &laid.brief()),
                    ("net", &self.style.area(icing.net_cm2 * 100.0)),
                    ("gross", &self.style.area(icing.cut_cm2 * 100.0)),
                ],
            );
            let masses = [("on", icing.on_cake_g), ("trimmed", icing.trimmed_g), ("made", icing.made_g)];
            let masses = masses.map(|(place, grams)| (place, self.mass(grams)));
            let masses = masses.each_ref().map(|(place, told)| (*place, told.as_str()));
            let _ = writeln!(out, "  {said}\n    {}", filled(&words.icing_mass, &masses));
        }
        out
    }

    fn rolls(&self) -> String {
        let (words, step) = (&self.language.amounts, &self.language.step);
        let rolls = rolls(self.plan, self.language);
        if rolls.is_empty() {
            return String::new();
        }
        let mut out = format!("\n{}\n", words.rolls);
        for rolled in rolls {
            let mass = self.mass(rolled.mass_g);
            for sausage in &rolled.sausages {
                let thick = self.mm(sausage.thick_mm);
                let thickness = match sausage.thin_mm {
                    Some(thin) => filled(&step.tapering, &[("thick", &thick), ("thin", &self.mm(thin))]),
                    None => filled(&step.thick, &[("depth", &thick)]),
                };
                let said = [
                    ("name", rolled.name.as_str()),
                    ("count", &sausage.count.to_string()),
                    ("length", &self.mm(sausage.length_mm)),
                    ("thickness", &thickness),
                    ("material", self.language.name(&rolled.material)),
                    ("colour", &hex(rolled.colour)),
                    ("pieces", &(sausage.count * sausage.pieces).to_string()),
                    ("mass", &mass),
                ];
                wrapped(&mut out, "  ", &filled(&words.sausage, &said));
            }
        }
        out
    }

    fn supports(&self) -> String {
        let words = &self.language.amounts;
        let mut out = format!("\n{}\n", words.supports);
        for board in &self.amounts.boards {
            let [w, d] = board.size_mm;
            let size = if board.round {
                filled(&self.language.thing.round, &[("size", &self.mm(w))])
            } else {
                format!("{} × {}", self.mm(w), self.mm(d))
            };
            let said = filled(
                &words.board,
                &[
                    ("name", &self.language.part(self.plan, &board.name)),
                    ("size", &size),
                    ("thick", &self.mm(board.thickness_mm)),
                    ("material", self.language.name(&board.material)),
                ],
            );
            let said = if board.hole_mm > 0.0 {
                filled(&words.hole, &[("board", &said), ("size", &self.mm(board.hole_mm))])
            } else {
                said
            };
            let _ = writeln!(out, "  {said}");
        }
        out += &self.dressing();
        if self.amounts.boards.iter().any(|board| board.name != PRESENTATION) {
            wrapped(&mut out, "  ", &words.touch_food);
        }
        let mut count = 0;
        for dowel in &self.amounts.dowels {
            let lengths: Vec<String> =
                dowel.lengths.iter().map(|(n, length)| format!("{n} × {}", self.mm(*length))).collect();
            count += dowel.lengths.iter().map(|(n, _)| n).sum::<u32>();
            let said = filled(
                &words.dowel,
                &[
                    ("material", self.language.name(&dowel.material)),
                    ("thick", &self.mm(dowel.diameter_mm)),
                    ("lengths", &lengths.join(", ")),
                ],
            );
            let said = if dowel.stock_mm > 0.0 {
                let (bought, stock) = (dowel.bought.to_string(), self.mm(dowel.stock_mm));
                filled(&words.stock, &[("dowel", &said), ("count", &bought), ("length", &stock)])
            } else {
                said
            };
            let _ = writeln!(out, "  {said}");
        }
        if count > 0 {
            let _ = writeln!(out, "  {}", filled(&words.all_dowels, &[("count", &count.to_string())]));
        }
        out
    }

    /// Icing and ribbon of the presentation board.
    fn dressing(&self) -> String {
        let (dressing, words) = (&self.amounts.dressing, &self.language.amounts);
        let mut out = String::new();
        if let Some(icing) = &dressing.icing {
            let [width, depth] = icing.sheet_mm.map(|mm| self.mm(mm));
            let sheet = match icing.round {
                true => filled(&self.language.icing.across, &[("size", &width)]),
                false => format!("{width} × {depth}"),
            };
            let masses = [icing.on_board_g, icing.trimmed_g, icing.made_g].map(|grams| self.mass(grams));
            let said = [
                ("thick", &*self.mm(icing.thickness_mm)),
                ("material", self.language.name(&icing.material)),
                ("colour", &hex(icing.colour)),
                ("sheet", &sheet),
                ("on", &masses[0]),
                ("trimmed", &masses[1]),
                ("made", &masses[2]),
            ];
            wrapped(&mut out, "    ", &filled(&words.board_icing, &said));
        }
        if let Some(ribbon) = &dressing.ribbon {
            let said = [
                ("width", &*self.mm(ribbon.width_mm)),
                ("colour", &hex(ribbon.colour)),
                ("length", &self.mm(ribbon.length_mm)),
                ("overlap", &self.mm(ribbon.overlap_mm)),
            ];
            wrapped(&mut out, "    ", &filled(&words.ribbon, &said));
        }
        out
    }

    fn offcuts(&self) -> String {
        let words = &self.language.amounts;
        let rows = self
            .amounts
            .offcuts
            .iter()
            .map(|offcut| vec![offcut.layer.clone(), self.style.mass_alone(offcut.mass_g)]);
        let (mass, truffles) = (self.mass(self.amounts.offcut_g), self.amounts.truffles.to_string());
        format!("\n{}\n", filled(&words.offcut, &[("mass", &mass), ("count", &truffles)]))
            + &table(&[&words.layer, &words.shaved], 1, rows.collect())
    }

    fn servings(&self) -> String {
        let (servings, words) = (&self.amounts.servings, &self.language.amounts);
        let rows = servings.served.iter().map(|served| {
            let tiers: Vec<String> =
                served.tiers.iter().map(|tier| format!("{} {}", tier.tier, tier.pieces)).collect();
            vec![
                self.language.name(&served.portion.name).to_owned(),
                served.by_volume.to_string(),
                served.by_cutting.to_string(),
                self.style.volume_alone(served.rim_ml * 1000.0),
                tiers.join(", "),
            ]
        });
        let head = [&words.portion, &words.volume, &words.cutting, &words.rim, &words.tiers];
        let heading = filled(&words.servings, &[("volume", &self.volume(servings.kept_ml))]);
        let mut out = format!("\n{heading}\n");
        out += &table_with_words(&head.map(String::as_str), rows.collect());
        wrapped(&mut out, "  ", &words.servings_note);
        out
    }
}

/// A list of what to buy, with what is in it, in `language`.
pub fn shopping_text(shopping: &Shopping, style: UnitStyle, language: &Language) -> String {
    let (words, style) = (&language.amounts, language.style(style));
    let rows = shopping.bought.iter().map(|bought| {
        let mass = style.mass(bought.used_g);
        let used = match bought.count() {
            Some(count) => filled(&words.counted, &[("count", &count.to_string()), ("mass", &mass)]),
            None => mass,
        };
        vec![language.name(&bought.name).to_owned(), used, packs(bought, style, language)]
    });
    let named = |allergen: &plan::pantry::Allergen| {
        let name = language.name(&allergen.name);
        if allergen.traces { filled(&language.allergens.traces, &[("name", name)]) } else { name.to_owned() }
    };
    let allergens: Vec<String> = shopping.allergens.iter().map(named).collect();
    let mut said = Vec::new();
    match (allergens.is_empty(), shopping.undeclared.is_empty()) {
        (false, _) => said.push(filled(&words.allergens, &[("names", &allergens.join(", "))])),
        (true, true) => said.push(words.no_allergens.clone()),
        (true, false) => {}
    }
    if !shopping.undeclared.is_empty() {
        said.push(filled(&words.undeclared, &[("names", &language.names(&shopping.undeclared))]));
    }
    said.push(words.label.clone());
    let mut out = table(&[&words.what, &words.used, &words.packs], 1, rows.collect());
    wrapped(&mut out, "  ", &said.join(" "));
    out
}

/// What is bought of it: "2 packs of 250 g", "1 pack of 6".
fn packs(bought: &Bought, style: UnitStyle, language: &Language) -> String {
    let words = &language.amounts;
    let (Some(packs), Some(pack)) = (bought.packs, bought.pack_g) else { return words.by_weight.clone() };
    let size = match bought.each_g {
        Some(each) => style.numbers.fixed((pack / each).round(), 0),
        None => style.mass_alone(pack),
    };
    let form = if packs == 1 { &words.pack } else { &words.several_packs };
    filled(form, &[("count", &packs.to_string()), ("size", &size)])
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
