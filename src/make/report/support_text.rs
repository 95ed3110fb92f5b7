//! The support check for a person at a terminal: the answers, and further down the figures behind them.

use std::fmt::Write;

use anstyle::{AnsiColor, Style};

use super::{
    support::{AdvisedEntry, SupportEntry},
    table::table,
    text::{NONE, heading},
};
use crate::{
    language::{Language, filled, filled_with},
    sheets::warmth,
};
use geom::{real, units::UnitStyle};
use plan::{
    Plan,
    support::{Answer, Question, capital},
};

/// Lines are no longer, letters.
const WIDE: usize = 118;

/// Writes what `plan` found of standing and travelling.
pub(super) struct SupportWriter<'a> {
    pub plan: &'a Plan,
    pub support: &'a SupportEntry,
    pub style: UnitStyle,
    pub language: &'a Language,
}

impl SupportWriter<'_> {
    /// The answers.
    pub(super) fn answers(&self) -> String {
        let steady = &self.language.steady;
        let mut out = heading(&steady.heading);
        wrapped(&mut out, "  ", &steady.estimate);
        for question in Question::ALL {
            self.answer(&mut out, question);
        }
        wrapped(&mut out, "  ", &warmth(self.plan, self.language));
        out
    }

    /// The figures that they rest on.
    pub(super) fn figures(&self) -> String {
        [self.weights(), self.levels(), self.journey()].concat()
    }

    /// The rules by which the answers were found, with their sources, and what they do not cover.
    pub(super) fn rules(&self) -> String {
        let words = &self.language.report;
        let mut out = heading(&words.rules);
        let used: Vec<_> = self.support.answers.iter().filter_map(|a| a.weakest.as_ref()).collect();
        for rule in &self.support.rules {
            if used.iter().any(|check| check.rule == rule.rule) {
                let (says, source) = self.language.rule(rule.rule);
                wrapped(
                    &mut out,
                    "  ",
                    &filled(&words.rule, &[("says", &capital(says)), ("source", source)]),
                );
            }
        }
        let _ = writeln!(out, "  {}", words.other_rules);
        let left_out = &self.language.steady.left_out;
        wrapped(&mut out, "  ", &filled(&words.not_covered, &[("what", left_out)]));
        out
    }

    fn grams(&self, grams: f64) -> String {
        self.style.mass_alone(grams)
    }

    /// "2.1 ×", or nothing where there is nothing to bear.
    fn times(&self, margin: f64) -> String {
        match margin {
            m if !m.is_finite() => NONE.into(),
            m if m >= 99.5 => self.language.report.over_99.clone(),
            m => format!("{} ×", self.style.numbers.fixed(m, if m >= 9.95 { 0 } else { 1 })),
        }
    }

    fn answer_word(&self, answer: Answer) -> (String, Style) {
        let words = &self.language.report;
        let (word, colour) = match answer {
            Answer::Yes => (&words.yes, AnsiColor::Green),
            Answer::Careful => (&words.careful, AnsiColor::Yellow),
            Answer::No => (&words.no, AnsiColor::Red),
        };
        let letters = |word: &String| word.chars().count();
        let wide = [&words.yes, &words.careful, &words.no].into_iter().map(letters).max().unwrap_or(0);
        (format!("{word:<wide$}"), Style::new().bold().fg_color(Some(colour.into())))
    }

    fn answer(&self, out: &mut String, question: Question) {
        let words = &self.language.report;
        let (answer, weakest) = self.plan.support.answer(question);
        let (word, style) = self.answer_word(answer);
        let _ = write!(out, "  {style}{word}{style:#}  ");
        let asked = self.language.asked(question, &self.style.temperature(self.plan.design.support.room));
        let Some(weakest) = weakest else {
            let _ = writeln!(out, "{}", filled(&words.nothing, &[("asked", &asked)]));
            return;
        };
        let margin = weakest.margin;
        let is_told = weakest.rule.is_strength() && (weakest.answer() != Answer::No || margin > 0.0);
        let (holds, needed) = (self.times(margin), self.times(weakest.needed));
        let margin = filled(&words.margin, &[("holds", &holds), ("needed", &needed)]);
        let margin = if is_told && weakest.margin.is_finite() { margin } else { String::new() };
        let said = self.language.checked(self.plan, weakest).0;
        let said = filled(&words.weakest, &[("asked", &asked), ("said", &said), ("margin", &margin)]);
        let mut lines = String::new();
        wrapped(&mut lines, &" ".repeat(word.chars().count() + 4), &said);
        // How to fix it stands among the findings.
        out.push_str(lines.trim_start());
    }

    fn weights(&self) -> String {
        let (words, steady) = (&self.language.report, &self.language.steady);
        let rows = self.support.weights.iter().rev().map(|weight| {
            let centre = weight.above_finished.centre_mm;
            let aside = real::hypot(centre[0], centre[1]);
            vec![
                weight.tier.clone(),
                self.grams(weight.raw_g),
                self.grams(weight.carved_g),
                self.grams(weight.finished_g),
                self.grams(weight.above_finished.mass_g),
                self.style.length_alone(centre[2]),
                if aside < 0.5 { NONE.into() } else { self.style.length_alone(aside) },
            ]
        });
        let columns = [
            &words.tier,
            &steady.raw,
            &steady.carved,
            &steady.finished,
            &steady.above,
            &words.centre_up,
            &words.aside,
        ];
        let mut out = heading(&words.weights) + &table(&columns.map(String::as_str), 1, rows.collect());
        let mass = self.style.mass(self.support.carried_g);
        let _ = writeln!(out, "  {}", filled(&steady.carried, &[("mass", &mass)]));
        out
    }

    fn levels(&self) -> String {
        let (words, steady) = (&self.language.report, &self.language.steady);
        let dash = |value: Option<f64>, write: &dyn Fn(f64) -> String| value.map_or(NONE.into(), write);
        let grams = |value: f64| self.grams(value);
        let mm = |value: f64| self.style.length_alone(value);
        let degrees = |value: f64| format!("{}°", self.style.numbers.fixed(value, 0));
        let rows = self.support.levels.iter().rev().map(|level| {
            let on = match level.dowels {
                _ if level.board == "presentation board" => steady.table.clone(),
                0 => words.sponge_alone.clone(),
                1 => steady.dowel.clone(),
                n => filled(&steady.dowels, &[("count", &n.to_string())]),
            };
            vec![
                self.language.part(self.plan, &level.board),
                grams(level.carries_g),
                on,
                dash(level.each_dowel_g, &grams),
                dash(level.each_dowel_uneven_g, &grams),
                dash(level.dowel_bears_g, &grams),
                dash(level.tips_deg, &degrees),
                dash(level.sags_mm, &mm),
                dash(level.sponge_pressure_pa, &|pa| self.style.pressure_alone(pa)),
                dash(level.sponge_settles_mm, &mm),
            ]
        });
        let columns = [
            &words.board_first,
            &steady.carries,
            &steady.on,
            &steady.each_dowel,
            &words.one_short,
            &steady.gives_way,
            &steady.tips_at,
            &words.sags,
            &words.cake_holds,
            &words.settles,
        ];
        let mut out = heading(&words.levels) + &table(&columns.map(String::as_str), 1, rows.collect());
        for level in self.support.levels.iter().rev() {
            if let Some(advised) = &level.advised_dowels {
                wrapped(&mut out, "  ", &self.advised(&level.board, advised));
            }
        }
        out
    }

    /// The dowels that a board ought to stand on, and which rule decided.
    fn advised(&self, board: &str, advised: &AdvisedEntry) -> String {
        let words = &self.language.report;
        let mm = |value: f64| self.style.length_alone(value);
        let (trade, calculated) = (advised.trade_circle_mm, advised.calculated_circle_mm);
        let wanted = trade.max(calculated);
        let (form, other) = if advised.circle_mm < wanted - 2.0 {
            (&words.widest_circle, wanted)
        } else if trade > calculated {
            (&words.trade_circle, calculated)
        } else {
            (&words.least_bending_circle, trade)
        };
        let said = [
            ("board", self.language.part(self.plan, board)),
            ("count", advised.count.to_string()),
            ("size", mm(advised.diameter_mm)),
            ("length", mm(advised.length_mm)),
            ("circle", mm(advised.circle_mm)),
            ("why", filled(form, &[("circle", &mm(other))])),
        ];
        filled_with(&words.required, &said)
    }

    fn journey(&self) -> String {
        let (words, steady) = (&self.language.report, &self.language.steady);
        let rows = self.support.journey.iter().map(|event| {
            vec![
                self.language.name(event.name).to_owned(),
                format!("{} %", self.style.numbers.fixed(event.share * 100.0, 0)),
                self.times(event.tips),
                self.times(event.slides),
                self.times(event.joints),
                self.times(event.centre_dowel),
            ]
        });
        let columns = [
            &steady.on_the_way,
            &words.side_force,
            &steady.tipping,
            &steady.sliding,
            &words.joints,
            &words.with_centre,
        ];
        heading(&steady.in_car) + &table(&columns.map(String::as_str), 1, rows.collect())
    }
}

/// A paragraph behind `indent`, broken between words.
pub fn wrapped(out: &mut String, indent: &str, text: &str) {
    let mut row = indent.to_owned();
    let mut empty = true;
    for word in text.split_whitespace() {
        if !empty && row.chars().count() + 1 + word.chars().count() > WIDE {
            let _ = writeln!(out, "{row}");
            row = indent.to_owned();
            empty = true;
        }
        if !empty {
            row.push(' ');
        }
        row.push_str(word);
        empty = false;
    }
    let _ = writeln!(out, "{row}");
}
