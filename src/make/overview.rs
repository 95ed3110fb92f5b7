//! What a maker must know first: what to decide, what to bake, what is hidden in the cake, how large a box it takes, and
//! whether it stands and travels. It heads the plan, the cutting sheet and the window.

use std::fmt::Write;

use anstyle::{AnsiColor, Style};
use serde::Serialize;

use crate::{
    language::{FindingWords, FirstWords, Language, filled},
    report::wrapped,
};
use cakefile::Severity;
use geom::units::UnitStyle;
use plan::{
    Plan,
    carve::Place,
    design::FootprintShape,
    extent::Load,
    findings::{Finding, FindingCode, Group, grouped},
    fix::{FileStep, FileValue},
    pantry::PanShape,
    stack::{SlabKind, sheet_cakes},
    support::{Answer, Check, HiddenCount, Question, capital},
};

/// The first screen.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Overview {
    /// What is open, the most harmful first.
    pub decide: Vec<Decision>,
    /// What is good to know: nothing has to be done about it.
    pub know: Vec<Decision>,
    /// What is baked or cast, from the bottom up.
    pub bake: Vec<Bake>,
    /// Oven loads, where they are known.
    pub loads: Option<u32>,
    /// What is hidden in the cake and counted out again before it is served.
    pub hidden: Vec<HiddenCount>,
    /// The room that the cake on its presentation board takes.
    pub room: Load,
    /// The cake with its presentation board, g.
    pub carried_g: f64,
    /// Whether two people must carry it.
    pub needs_two: bool,
    /// Whether it stands: on the bench, while it is carved, at the venue.
    pub stands: Verdict,
    /// Whether it travels.
    pub travels: Verdict,
    #[serde(skip)]
    style: UnitStyle,
    #[serde(skip)]
    language: Language,
}

/// Something to decide.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Decision {
    /// How bad it is.
    pub severity: Severity,
    /// What kind of thing it is, where the plan found it.
    #[serde(skip)]
    pub code: Option<FindingCode>,
    /// What is wrong, in one sentence without a full stop.
    pub what: String,
    /// Where on the cake, in words.
    pub place: Option<String>,
    /// The same to look at.
    #[serde(skip)]
    pub at: Option<Place>,
    /// How to fix it.
    pub fix: String,
    /// How a fix is introduced.
    #[serde(skip)]
    label: String,
}

/// Layers of one material out of one pan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bake {
    /// What they are of.
    pub material: String,
    /// The pan, as its maker writes it.
    pub pan: String,
    /// How high each is, mm.
    pub heights_mm: Vec<f64>,
}

/// An answer of the support check.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Verdict {
    /// Yes, careful or no.
    pub answer: Answer,
    /// The weakest place, in one sentence without a full stop, unless the answer is yes.
    pub weakest: Option<String>,
}

/// One line of the first screen: what it is about, and what is to be said.
pub struct Line {
    /// One word.
    pub label: String,
    /// One sentence or two, with their full stops.
    pub text: String,
}

impl Overview {
    /// What `plan` alone tells, in the language of the program's own messages; whoever knows the order adds to `decide` and
    /// `loads`.
    pub fn new(plan: &Plan) -> Self {
        Self::in_language(plan, Language::english())
    }

    /// The same in `language`.
    pub fn in_language(plan: &Plan, language: &Language) -> Self {
        let style = language.style(plan.design.style);
        let told = grouped(&plan.findings).into_iter().map(|group| Decision::of(&group, plan, language));
        let (know, decide) = told.partition(|told| told.severity == Severity::Note);
        Self {
            decide,
            know,
            bake: bakes(plan, language),
            loads: None,
            hidden: plan.support.hidden.clone(),
            room: Load::of(plan),
            carried_g: plan.support.carried,
            needs_two: plan.needs_two(),
            stands: verdict(plan, &[Question::Bench, Question::Carving, Question::Venue], language),
            travels: verdict(plan, &[Question::Car], language),
            style,
            language: language.clone(),
        }
    }

    /// The screen for a person at a terminal, with colours as escape sequences.
    pub fn text(&self) -> String {
        let mut out = String::new();
        let words = &self.language.first;
        let lines = self.lines();
        let labels = lines.iter().map(|line| &line.label).chain([&words.decide]);
        let indent = INDENT.max(labels.map(|label| label.chars().count() + 1).max().unwrap_or(0));
        let entry =
            |out: &mut String, label: &str, style: Style, text: &str| entry(out, indent, label, style, text);
        if self.decide.is_empty() {
            entry(&mut out, &words.decide, Style::new().bold(), &words.nothing_open);
        }
        for (i, told) in self.decide.iter().enumerate() {
            let colour = if told.severity == Severity::Error { AnsiColor::Red } else { AnsiColor::Yellow };
            let label = if i == 0 { words.decide.as_str() } else { "" };
            let style = Style::new().bold().fg_color(Some(colour.into()));
            let number = format!("{}.", i + 1);
            entry(&mut out, label, style, &format!("{number} {}.", told.what_and_where()));
            let fix = filled(&words.fix, &[("fix", &told.fix)]);
            wrapped(&mut out, &" ".repeat(indent + number.len() + 1), &fix);
        }
        for line in &lines {
            entry(&mut out, &line.label, Style::new().bold(), &line.text);
        }
        out
    }

    /// What stands above what is to be decided.
    pub fn heading(&self) -> &str {
        if self.decide.iter().any(|told| told.severity == Severity::Error) {
            &self.language.first.fix_first
        } else {
            &self.language.first.decide_first
        }
    }

    /// What is good to know, for a person at a terminal; empty where there is nothing.
    pub fn notes(&self) -> String {
        let mut out = String::new();
        for told in &self.know {
            let fix = if told.fix.is_empty() { String::new() } else { format!(" {}.", capital(&told.fix)) };
            wrapped(&mut out, "  ", &format!("{}.{fix}", capital(&told.what)));
        }
        out
    }

    /// Everything but what is to be decided.
    pub fn lines(&self) -> Vec<Line> {
        let words = &self.language.first;
        let line = |label: &str, text: String| Line { label: label.to_owned(), text };
        vec![
            line(&words.bake, self.bake_text()),
            line(&words.hidden, self.hidden_text()),
            line(&words.r#box, self.box_text()),
            line(&words.stands, self.stands.text(words, &words.everywhere)),
            line(&words.travels, self.travels.text(words, &words.on_the_way)),
        ]
    }

    fn bake_text(&self) -> String {
        let mut parts: Vec<String> = Vec::new();
        let mut last: Option<&str> = None;
        for bake in &self.bake {
            let of = if last == Some(bake.material.as_str()) {
                String::new()
            } else {
                format!("{}: ", bake.material)
            };
            last = Some(&bake.material);
            parts.push(format!("{of}{}, {}", bake.pan, self.heights(&bake.heights_mm)));
        }
        let words = &self.language.first;
        let loads = match self.loads {
            None => String::new(),
            Some(1) => format!(" {}", words.load),
            Some(n) => format!(" {}", filled(&words.loads, &[("count", &n.to_string())])),
        };
        if parts.is_empty() { words.nothing_baked.clone() } else { format!("{}.{loads}", parts.join("; ")) }
    }

    /// "44 mm high", "2 × 44 mm and 40 mm high".
    fn heights(&self, heights: &[f64]) -> String {
        let mut counted: Vec<(String, usize)> = Vec::new();
        for mm in heights {
            let told = self.style.length_alone(*mm);
            match counted.iter_mut().find(|(known, _)| *known == told) {
                Some((_, count)) => *count += 1,
                None => counted.push((told, 1)),
            }
        }
        let each: Vec<String> = counted
            .into_iter()
            .map(|(told, count)| if count == 1 { told } else { format!("{count} × {told}") })
            .collect();
        filled(&self.language.first.high, &[("heights", &self.language.joined(&each))])
    }

    fn hidden_text(&self) -> String {
        let all: usize = self.hidden.iter().map(|hidden| hidden.count).sum();
        if all == 0 {
            return self.language.first.nothing_hidden.clone();
        }
        let row = |hidden: &HiddenCount| {
            let (what, place) = self.language.hidden(hidden, |mm| self.style.length_alone(mm));
            let count = hidden.count.to_string();
            filled(&self.language.first.hidden_row, &[("count", &count), ("what", &what), ("place", &place)])
        };
        let each: Vec<String> = self.hidden.iter().map(row).collect();
        let (all, each) = (all.to_string(), each.join("; "));
        filled(&self.language.first.all_hidden, &[("count", &all), ("each", &each)])
    }

    fn box_text(&self) -> String {
        let (style, room) = (self.style, &self.room);
        let words = &self.language.first;
        filled(
            &words.room,
            &[
                ("width", &style.length(room.width)),
                ("depth", &style.length(room.depth)),
                ("height", &style.length(room.height)),
                ("mass", &style.mass(self.carried_g)),
                ("lift", if self.needs_two { &words.two_people } else { "" }),
            ],
        )
    }
}

impl Decision {
    fn of(group: &Group<'_>, plan: &Plan, language: &Language) -> Self {
        let place = group.first.place.map(|place| {
            let height = language.style(plan.design.style).length_alone(place.height);
            filled(&language.first.place, &[("height", &height), ("side", &language.bearing(place.bearing))])
        });
        let (what, fix) = match language.finding(group.first.code.as_str()) {
            Some(words) => told_by_code(group, words, plan, language),
            None => (group.message(), group.first.fix.words.clone()),
        };
        Self {
            severity: group.first.severity,
            code: Some(group.first.code),
            what,
            place,
            at: group.first.place,
            fix,
            label: language.first.fix.clone(),
        }
    }

    /// What the order adds to the first screen of `overview`.
    pub fn of_order(overview: &Overview, severity: Severity, (what, fix): (String, String)) -> Self {
        Self {
            severity,
            code: None,
            what,
            place: None,
            at: None,
            fix,
            label: overview.language.first.fix.clone(),
        }
    }

    /// What is wrong, as a sentence without a full stop, with its place in square brackets.
    pub fn what_and_where(&self) -> String {
        let place = self.place.as_ref().map_or(String::new(), |place| format!(" [{place}]"));
        format!("{}{place}", capital(&self.what))
    }

    /// What is wrong, and how to fix it.
    pub fn sentences(&self) -> String {
        format!("{}. {}", self.what_and_where(), filled(&self.label, &[("fix", &self.fix)]))
    }
}

/// A group of findings in words of a language's own: what they are about, by their code, and the value that the cake file
/// gets where one value fixes it.
fn told_by_code(
    group: &Group<'_>,
    words: &FindingWords,
    plan: &Plan,
    language: &Language,
) -> (String, String) {
    let part = |finding: &Finding| language.part(plan, &finding.about);
    let named = |words: &str| filled(words, &[("about", &part(group.first))]);
    let mut what = named(&words.what);
    if !group.others.is_empty() {
        let others: Vec<String> = group.others.iter().map(|other| part(other)).collect();
        what = filled(&language.first.likewise, &[("what", &what), ("others", &language.joined(&others))]);
    }
    (what, named(&words.fix) + &value_of(group.first, language.style(plan.design.style)))
}

/// " (102 mm: `tier[0].board.round`)": the value by which a finding is fixed, where that is one length, and its key.
fn value_of(finding: &Finding, style: UnitStyle) -> String {
    let steps = finding.fix.edit.as_ref().map(|edit| &edit.steps[..]);
    match steps {
        Some([FileStep::Set(path, FileValue::Length(mm))]) => {
            format!(" ({}: `{path}`)", style.length_alone(*mm))
        }
        _ => String::new(),
    }
}

/// Letters before the text of an entry, at least.
const INDENT: usize = 9;

/// One entry of the screen: its label, and its text beside it.
fn entry(out: &mut String, indent: usize, label: &str, style: Style, text: &str) {
    let mut lines = String::new();
    wrapped(&mut lines, &" ".repeat(indent), text);
    let _ = write!(
        out,
        "{style}{label}{style:#}{}{}",
        " ".repeat(indent - label.chars().count()),
        lines.trim_start_matches(' ')
    );
}

impl Verdict {
    /// "yes, …", "careful: …", "no: …".
    fn text(&self, words: &FirstWords, everywhere: &str) -> String {
        let word = match self.answer {
            Answer::Yes => return filled(&words.yes, &[("where", everywhere)]),
            Answer::Careful => &words.careful,
            Answer::No => &words.no,
        };
        match &self.weakest {
            Some(said) => format!("{word}: {said}."),
            None => format!("{word}."),
        }
    }
}

/// The worst of the answers to `questions`.
fn verdict(plan: &Plan, questions: &[Question], language: &Language) -> Verdict {
    let answers = questions.iter().map(|question| plan.support.answer(*question));
    let worst = answers.max_by_key(|(answer, _)| *answer).unwrap_or((Answer::Yes, None));
    let said = |check: &Check| language.checked(plan, check).0;
    Verdict { answer: worst.0, weakest: worst.1.filter(|_| worst.0 != Answer::Yes).map(said) }
}

/// Layers by material and pan, from the bottom up; of layers of pieces the sheet cakes that they are cut from.
fn bakes(plan: &Plan, language: &Language) -> Vec<Bake> {
    let whole = plan.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Layer).filter_map(|slab| {
        let shape = match (&slab.footprint.shape, slab.dome) {
            (FootprintShape::Round { diameter }, Some(_)) => PanShape::HalfBall(*diameter),
            (FootprintShape::Round { diameter }, None) => PanShape::Round(*diameter),
            (FootprintShape::Rectangle { width, depth }, _) => PanShape::Rectangle(*width, *depth),
            (FootprintShape::Pieces(_), _) => return None,
        };
        Some((shape, slab.material.name.clone(), slab.height()))
    });
    let sheets = sheet_cakes(&plan.stack, &plan.pantry).into_iter().map(|sheet| {
        let [width, depth] = sheet.pan;
        let high = sheet.height(&plan.stack);
        (PanShape::Rectangle(width, depth), sheet.material.name, high)
    });
    let mut bakes: Vec<Bake> = Vec::new();
    for (shape, material, height) in whole.chain(sheets) {
        let pan = language.pan(shape, plan.design.unit);
        let material = language.name(&material).to_owned();
        match bakes.iter_mut().find(|bake| bake.pan == pan && bake.material == material) {
            Some(bake) => bake.heights_mm.push(height),
            None => bakes.push(Bake { material, pan, heights_mm: vec![height] }),
        }
    }
    // What is of one material stands together, in the order in which materials first come.
    let order: Vec<String> = bakes.iter().map(|bake| bake.material.clone()).collect();
    bakes.sort_by_key(|bake| order.iter().position(|material| *material == bake.material));
    bakes
}
