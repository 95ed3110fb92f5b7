//! The support check for a person at a terminal: the answers, and further down the figures behind them.

use std::fmt::Write;

use anstyle::{AnsiColor, Style};

use super::{
    support::{AdvisedEntry, AnswerEntry, SupportEntry},
    table::table,
    text::{NONE, heading},
};
use geom::real;
use geom::units::UnitStyle;
use plan::support::{Answer, capital, warmth};

/// Lines are no longer, letters.
const WIDE: usize = 118;

/// The answers.
pub(super) fn answers(support: &SupportEntry, style: UnitStyle) -> String {
    Writer { support, style }.answers()
}

/// The figures that they rest on.
pub(super) fn figures(support: &SupportEntry, style: UnitStyle) -> String {
    let writer = Writer { support, style };
    [writer.weights(), writer.levels(), writer.journey()].concat()
}

/// The rules by which the answers were found, with their sources, and what they do not cover.
pub(super) fn rules(support: &SupportEntry, style: UnitStyle) -> String {
    Writer { support, style }.rules()
}

struct Writer<'a> {
    support: &'a SupportEntry,
    style: UnitStyle,
}

/// "2.1 times", or nothing where there is nothing to bear.
fn times(margin: f64) -> String {
    match margin {
        m if !m.is_finite() => NONE.into(),
        m if m >= 99.5 => "over 99 ×".into(),
        m if m >= 9.95 => format!("{m:.0} ×"),
        m => format!("{m:.1} ×"),
    }
}

fn answer_word(answer: Answer) -> (&'static str, Style) {
    let (word, colour) = match answer {
        Answer::Yes => ("yes    ", AnsiColor::Green),
        Answer::Careful => ("careful", AnsiColor::Yellow),
        Answer::No => ("no     ", AnsiColor::Red),
    };
    (word, Style::new().bold().fg_color(Some(colour.into())))
}

impl Writer<'_> {
    fn grams(&self, grams: f64) -> String {
        self.style.mass_alone(grams)
    }

    fn answers(&self) -> String {
        let mut out = heading("Will it stand, and will it travel");
        wrapped(&mut out, "  ", &format!("{}.", capital(self.support.estimate)));
        for answer in &self.support.answers {
            self.answer(&mut out, answer);
        }
        wrapped(&mut out, "  ", &warmth(self.support.holds_to_c, self.support.warmest_c, self.style));
        out
    }

    fn answer(&self, out: &mut String, entry: &AnswerEntry) {
        let (word, style) = answer_word(entry.answer);
        let _ = write!(out, "  {style}{word}{style:#}  ");
        let asked = entry.question.asked(&self.style.temperature(self.support.room_c));
        let Some(weakest) = &entry.weakest else {
            let _ = writeln!(out, "{asked}: nothing to check");
            return;
        };
        let margin = match weakest.margin {
            Some(margin) if weakest.rule.is_strength() && (weakest.answer != Answer::No || margin > 0.0) => {
                format!(" (holds {}, {} required)", times(margin), times(weakest.needed))
            }
            _ => String::new(),
        };
        let said = format!("{asked}; weakest: {}{margin}", weakest.said);
        let mut lines = String::new();
        wrapped(&mut lines, "           ", &said);
        // How to fix it stands among the findings.
        out.push_str(lines.trim_start());
    }

    fn weights(&self) -> String {
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
            "tier with its board (top first)",
            "raw",
            "carved",
            "finished",
            "with all above",
            "centre of mass up",
            "aside",
        ];
        let mut out =
            heading("What it weighs: put it on the scales and compare") + &table(&columns, 1, rows.collect());
        let _ = writeln!(
            out,
            "  With its presentation board {} to carry.",
            self.style.mass(self.support.carried_g)
        );
        out
    }

    fn levels(&self) -> String {
        let dash = |value: Option<f64>, write: &dyn Fn(f64) -> String| value.map_or(NONE.into(), write);
        let grams = |value: f64| self.grams(value);
        let mm = |value: f64| self.style.length_alone(value);
        let degrees = |value: f64| format!("{value:.0}°");
        let rows = self.support.levels.iter().rev().map(|level| {
            let on = match level.dowels {
                _ if level.board == "presentation board" => "the table".to_owned(),
                0 => "sponge alone".to_owned(),
                1 => "1 dowel".to_owned(),
                n => format!("{n} dowels"),
            };
            vec![
                level.board.clone(),
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
            "board (top first)",
            "carries",
            "on",
            "each dowel",
            "one short",
            "gives way at",
            "tips at",
            "sags",
            "cake holds",
            "settles",
        ];
        let mut out = heading("What carries what") + &table(&columns, 1, rows.collect());
        for level in self.support.levels.iter().rev() {
            if let Some(advised) = &level.advised_dowels {
                wrapped(&mut out, "  ", &self.advised(&level.board, advised));
            }
        }
        out
    }

    /// The dowels that a board ought to stand on, and which rule decided.
    fn advised(&self, board: &str, advised: &AdvisedEntry) -> String {
        let mm = |value: f64| self.style.length_alone(value);
        let (trade, calculated) = (advised.trade_circle_mm, advised.calculated_circle_mm);
        let wanted = trade.max(calculated);
        let why = if advised.circle_mm < wanted - 2.0 {
            format!(
                "the widest that leaves enough cake over them; without the carve it would be {}",
                mm(wanted)
            )
        } else if trade > calculated {
            format!("the trade's, 1 1/2 in inside the edge; {} bends the board least", mm(calculated))
        } else {
            format!("it bends the board least; the trade's, 1 1/2 in inside the edge, is {}", mm(trade))
        };
        format!(
            "Required under {board}: {} dowels of {} cut to {}, evenly round a circle of {} ({why}).",
            advised.count,
            mm(advised.diameter_mm),
            mm(advised.length_mm),
            mm(advised.circle_mm)
        )
    }

    fn journey(&self) -> String {
        let rows = self.support.journey.iter().map(|event| {
            vec![
                event.name.to_owned(),
                format!("{:.0} %", event.share * 100.0),
                times(event.tips),
                times(event.slides),
                times(event.joints),
                times(event.centre_dowel),
            ]
        });
        let columns = [
            "on the way, how many times it holds",
            "side force, of its weight",
            "tipping",
            "sliding",
            "joints alone",
            "with the centre dowel",
        ];
        heading("In a car") + &table(&columns, 1, rows.collect())
    }

    fn rules(&self) -> String {
        let mut out = heading("What the estimate rests on");
        let used: Vec<_> = self.support.answers.iter().filter_map(|a| a.weakest.as_ref()).collect();
        for rule in &self.support.rules {
            if used.iter().any(|check| check.rule == rule.rule) {
                wrapped(&mut out, "  ", &format!("{}. Source: {}.", capital(rule.says), rule.source));
            }
        }
        out.push_str("  All other rules and checks are in the JSON report.\n");
        wrapped(&mut out, "  ", &format!("Not covered: {}.", self.support.not_covered.join("; ")));
        out
    }
}

/// A paragraph behind `indent`, broken between words.
pub(crate) fn wrapped(out: &mut String, indent: &str, text: &str) {
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
