//! What a maker must know first: what to decide, what to bake, what is hidden in the cake, how large a box it takes, and
//! whether it stands and travels. It heads the plan, the cutting sheet and the window.

use std::fmt::Write;

use anstyle::{AnsiColor, Style};
use serde::Serialize;

use crate::{bearing_words::bearing_words, report::wrapped};
use cakefile::Severity;
use geom::units::UnitStyle;
use plan::{
    Plan,
    carve::Place,
    design::FootprintShape,
    extent::Load,
    findings::{Group, grouped},
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
}

/// Something to decide.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Decision {
    /// How bad it is.
    pub severity: Severity,
    /// What is wrong, in one sentence without a full stop.
    pub what: String,
    /// Where on the cake, in words.
    pub place: Option<String>,
    /// The same to look at.
    #[serde(skip)]
    pub at: Option<Place>,
    /// How to fix it.
    pub fix: String,
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
    pub label: &'static str,
    /// One sentence or two, with their full stops.
    pub text: String,
}

impl Overview {
    /// What `plan` alone tells; whoever knows the order adds to `decide` and `loads`.
    pub fn new(plan: &Plan) -> Self {
        let style = plan.design.style;
        let told = grouped(&plan.findings).into_iter().map(|group| Decision::of(&group, style));
        let (know, decide) = told.partition(|told| told.severity == Severity::Note);
        Self {
            decide,
            know,
            bake: bakes(plan),
            loads: None,
            hidden: plan.support.hidden.clone(),
            room: Load::of(plan),
            carried_g: plan.support.carried,
            needs_two: plan.needs_two(),
            stands: verdict(plan, &[Question::Bench, Question::Carving, Question::Venue]),
            travels: verdict(plan, &[Question::Car]),
            style,
        }
    }

    /// The screen for a person at a terminal, with colours as escape sequences.
    pub fn text(&self) -> String {
        let mut out = String::new();
        if self.decide.is_empty() {
            entry(&mut out, "Decide", Style::new().bold(), "nothing is open.");
        }
        for (i, told) in self.decide.iter().enumerate() {
            let colour = if told.severity == Severity::Error { AnsiColor::Red } else { AnsiColor::Yellow };
            let label = if i == 0 { "Decide" } else { "" };
            let style = Style::new().bold().fg_color(Some(colour.into()));
            let number = format!("{}.", i + 1);
            entry(&mut out, label, style, &format!("{number} {}.", told.what_and_where()));
            wrapped(&mut out, &" ".repeat(INDENT + number.len() + 1), &format!("Fix: {}.", told.fix));
        }
        for line in self.lines() {
            entry(&mut out, line.label, Style::new().bold(), &line.text);
        }
        out
    }

    /// What stands above what is to be decided.
    pub fn heading(&self) -> &'static str {
        if self.decide.iter().any(|told| told.severity == Severity::Error) {
            "Fix first: do not bake from this plan yet"
        } else {
            "Decide first"
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
        let mut lines = vec![
            Line { label: "Bake", text: self.bake_text() },
            Line { label: "Hidden", text: self.hidden_text() },
            Line { label: "Box", text: self.box_text() },
        ];
        let room = "on the bench, while it is carved and at the venue";
        lines.push(Line { label: "Stands", text: self.stands.text(room) });
        lines.push(Line { label: "Travels", text: self.travels.text("on a level floor, in its box") });
        lines
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
        let loads = match self.loads {
            None => String::new(),
            Some(1) => " In one oven load.".into(),
            Some(n) => format!(" In {n} oven loads."),
        };
        if parts.is_empty() { "nothing.".into() } else { format!("{}.{loads}", parts.join("; ")) }
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
        format!("{} high", each.join(" and "))
    }

    fn hidden_text(&self) -> String {
        let all: usize = self.hidden.iter().map(|hidden| hidden.count).sum();
        if all == 0 {
            return "nothing that is listed; count every stick and skewer in and out all the same.".into();
        }
        let each: Vec<String> = self
            .hidden
            .iter()
            .map(|hidden| format!("{} × {} {}", hidden.count, hidden.what, hidden.place))
            .collect();
        format!("{all} to count out again before it is served: {}.", each.join("; "))
    }

    fn box_text(&self) -> String {
        let (style, room) = (self.style, &self.room);
        let lift = if self.needs_two { ": two people lift it" } else { "" };
        format!(
            "{} wide, {} deep and {} high inside, at least, for the cake on its board with everything that sticks out; \
             {} to carry{lift}.",
            style.length(room.width),
            style.length(room.depth),
            style.length(room.height),
            style.mass(self.carried_g)
        )
    }
}

impl Decision {
    fn of(group: &Group<'_>, style: UnitStyle) -> Self {
        let place = group.first.place.map(|place| {
            format!("height {}, {}", style.length_alone(place.height), bearing_words(place.bearing))
        });
        Self {
            severity: group.first.severity,
            what: group.message(),
            place,
            at: group.first.place,
            fix: group.first.fix.words.clone(),
        }
    }

    /// What is wrong, as a sentence without a full stop, with its place in square brackets.
    pub fn what_and_where(&self) -> String {
        let place = self.place.as_ref().map_or(String::new(), |place| format!(" [{place}]"));
        format!("{}{place}", capital(&self.what))
    }

    /// What is wrong, and how to fix it.
    pub fn sentences(&self) -> String {
        format!("{}. Fix: {}.", self.what_and_where(), self.fix)
    }
}

/// Letters before the text of an entry.
const INDENT: usize = 9;

/// One entry of the screen: its label, and its text beside it.
fn entry(out: &mut String, label: &str, style: Style, text: &str) {
    let mut lines = String::new();
    wrapped(&mut lines, &" ".repeat(INDENT), text);
    let _ = write!(
        out,
        "{style}{label}{style:#}{}{}",
        " ".repeat(INDENT - label.len()),
        lines.trim_start_matches(' ')
    );
}

impl Verdict {
    /// "yes, …", "careful: …", "no: …".
    fn text(&self, everywhere: &str) -> String {
        let word = match self.answer {
            Answer::Yes => return format!("yes, {everywhere}."),
            Answer::Careful => "careful",
            Answer::No => "no",
        };
        match &self.weakest {
            Some(said) => format!("{word}: {said}."),
            None => format!("{word}."),
        }
    }
}

/// The worst of the answers to `questions`.
fn verdict(plan: &Plan, questions: &[Question]) -> Verdict {
    let answers = questions.iter().map(|question| plan.support.answer(*question));
    let worst = answers.max_by_key(|(answer, _)| *answer).unwrap_or((Answer::Yes, None));
    let said = |check: &Check| check.said.clone();
    Verdict { answer: worst.0, weakest: worst.1.filter(|_| worst.0 != Answer::Yes).map(said) }
}

/// Layers by material and pan, from the bottom up; of layers of pieces the sheet cakes that they are cut from.
fn bakes(plan: &Plan) -> Vec<Bake> {
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
        let pan = shape.name(plan.design.unit);
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
