//! What comes next: one sentence above every panel, for whoever makes a cake here for the first time.

use cakefile::{FieldPath, Severity};
use egui::Ui;

use crate::{command::Command, planned::Outcome, planning::has_no_layers, session::Session, workshop::Tab};

/// What comes next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Next {
    /// Something in the file is wrong.
    Fix,
    /// The shape has no layers yet.
    Stack,
    /// So many things are open.
    Decide(usize),
    /// Nobody has said what is ordered.
    Order,
    /// The cake is not saved.
    Save,
    /// Everything can be made.
    Make,
}

/// What is done about it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Go {
    /// A panel is shown.
    To(Tab),
    /// A command is done.
    Do(Command),
}

impl Next {
    /// What comes next for this cake; `None` while it is not planned yet.
    pub fn of(session: &Session, outcome: &Outcome) -> Option<Self> {
        let document = session.document();
        if has_no_layers(document, &outcome.problems) {
            return Some(Self::Stack);
        }
        let is_wrong = |severity: Severity| severity == Severity::Error;
        if outcome.failed.is_some() || outcome.problems.iter().any(|problem| is_wrong(problem.severity)) {
            return Some(Self::Fix);
        }
        let open = outcome.planned.as_ref()?.overview.decide.len();
        Some(match () {
            () if open > 0 => Self::Decide(open),
            () if document.value(&FieldPath::root().key("order")).is_none() => Self::Order,
            () if session.is_new() || session.is_unsaved() => Self::Save,
            () => Self::Make,
        })
    }

    /// What comes next, in a sentence.
    pub fn words(self) -> String {
        match self {
            Self::Fix => "Next: fix what is wrong in the file.".into(),
            Self::Stack => {
                "Next: look at the outline. When it is right, find the pans and layers that hold it.".into()
            }
            Self::Decide(1) => "Next: decide the one thing that is open.".into(),
            Self::Decide(open) => format!("Next: decide the {open} things that are open."),
            Self::Order => "Next: say who ordered the cake, for when and for how many.".into(),
            Self::Save => "Next: save the cake.".into(),
            Self::Make => "Next: make the quote, the pictures and the bench kit.".into(),
        }
    }

    /// The name of the button, and what it does.
    pub fn button(self) -> (&'static str, Go) {
        match self {
            Self::Fix | Self::Decide(_) => ("Show what is open", Go::To(Tab::ToFix)),
            Self::Stack => ("Find the stack", Go::Do(Command::FindStacks)),
            Self::Order => ("Fill in the order", Go::To(Tab::Order)),
            Self::Save => ("Save the cake", Go::Do(Command::Save)),
            Self::Make => ("Go and make them", Go::To(Tab::Make)),
        }
    }
}

/// What was chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Chosen {
    Go(Go),
    Hide,
}

/// Draws it above the panel `tab`.
pub(crate) fn show(ui: &mut Ui, next: Next, tab: Tab) -> Option<Chosen> {
    let (name, go) = next.button();
    let mut chosen = None;
    egui::Frame::group(ui.style()).fill(ui.visuals().faint_bg_color).show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.label(next.words());
        ui.horizontal(|ui| {
            // Where it leads is here already.
            if go != Go::To(tab) && ui.button(name).clicked() {
                chosen = Some(Chosen::Go(go));
            }
            let help = "The panel Settings shows it again.";
            if ui.button("Hide this").on_hover_text(help).clicked() {
                chosen = Some(Chosen::Hide);
            }
        });
    });
    ui.add_space(4.0);
    chosen
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{outline::TracedPictures, planned::Planned, planning::plan_for_window};
    use cakefile::{CakeFile, world::Memory};
    use make::overview::Overview;
    use plan::{Planner, Quality, Source};
    use std::{collections::BTreeMap, sync::Arc};

    const DRUM: &str = "crumbline = 2\nname = \"Drum\"\n[board]\nround = 300\nthickness = 12\n[shape.turned]\n\
                        points = [[90, 0], [90, 100], [0, 100]]\n";
    const TIER: &str = "[[tier]]\nname = \"one\"\n[[tier.layer]]\npan = { round = 190 }\nheight = 50\n\
                        [[tier.layer]]\npan = { round = 190 }\nheight = 60\n";

    fn next(text: &str) -> Option<Next> {
        let session = Session::new("new/drum.cake.toml", text, BTreeMap::new());
        let source = Source::new(CakeFile::from_text("cake", "", text), Arc::new(Memory::new()));
        let mut outcome = Outcome::default();
        match plan_for_window(&Planner::new(), &source, Quality::Full, &geom::Cancel::new()) {
            Ok((plan, problems)) => {
                let overview = Overview::new(&plan);
                let traced = TracedPictures::default();
                outcome.planned = Some(Planned::new(Arc::new(plan), overview, &source, &traced));
                outcome.problems = problems;
            }
            Err(plan::PlanError::CakeFile(error)) => outcome.problems = error.problems().to_vec(),
            Err(error) => panic!("{error}"),
        }
        Next::of(&session, &outcome)
    }

    #[test]
    fn from_the_outline_to_the_bench_one_thing_comes_next() {
        assert_eq!(next(DRUM), Some(Next::Stack));
        assert_eq!(next(&DRUM.replace("300", "\"wide\"")), Some(Next::Fix));
        let stacked = format!("{DRUM}{TIER}");
        let open = next(&stacked);
        assert!(matches!(open, Some(Next::Decide(_) | Next::Order)), "{open:?}");
        let session = Session::new("new/drum.cake.toml", &stacked, BTreeMap::new());
        assert_eq!(Next::of(&session, &Outcome::default()), None, "it is not planned yet");
        for next in [Next::Fix, Next::Stack, Next::Decide(2), Next::Order, Next::Save, Next::Make] {
            assert!(next.words().ends_with('.') && !next.button().0.is_empty());
        }
    }
}
