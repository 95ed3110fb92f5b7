//! Findings: what it is, where, and a button that does the fix.

use cakefile::{Severity, edit::Document};
use egui::{RichText, Ui};
use geom::revolve::at_bearing;
use make::overview::Decision;
use plan::findings::{Finding, grouped};

use crate::{
    asked::Asked,
    changed_lines::changed_lines,
    effect::{Effect, Effects},
    ink::{severity_ink, wrong_ink},
    planned::Outcome,
    planning::has_no_layers,
    words,
    workshop::Tab,
};

/// Draws what is wrong with the text, then everything that the plan found, the most harmful first; with each fix what is
/// otherwise once it is done, as far as `effects` know.
pub fn show(ui: &mut Ui, document: &Document, outcome: &Outcome, effects: &Effects, asked: &mut Vec<Asked>) {
    ui.label("What to decide before baking. Each has its fix; Undo takes it back.");
    ui.add_space(4.0);
    for problem in outcome.problems.iter().filter(|problem| problem.severity == Severity::Error) {
        card(ui, problem.severity, |ui| {
            ui.label(RichText::new(words::capital(&problem.message)).strong());
            // Here the layers are found by a button, elsewhere by a command.
            if has_no_layers(document, &outcome.problems) {
                ui.label("Fix: find the pans and layers that hold the shape, or add a tier of your own.");
                if ui.button("Find the best stack").clicked() {
                    asked.push(Asked::FindStacks);
                }
                return;
            }
            if let Some(help) = problem.help.as_deref().and_then(words::done_here) {
                ui.label(format!("Fix: {help}."));
            }
            // What is wrong with the file as a whole stands in no panel.
            let is_somewhere = document.value(&problem.path).is_some() && !problem.path.0.is_empty();
            if is_somewhere && ui.link(format!("Show {}", problem.path)).clicked() {
                asked.push(Asked::Select(Some(problem.path.clone())));
            }
        });
    }
    if let Some(failed) = &outcome.failed {
        card(ui, Severity::Error, |ui| ui.label(failed));
    }
    let Some(planned) = &outcome.planned else { return };
    if outcome.problems.is_empty() && outcome.failed.is_none() && planned.overview.decide.is_empty() {
        ui.label(RichText::new("Nothing to fix.").strong());
    }
    let is_current = document.text() == &*planned.text;
    let effects = Some(effects);
    let groups = grouped(&planned.plan.findings);
    // What is open in the order is told by the first screen only.
    let of_order = |decisions: &[Decision], ui: &mut Ui, asked: &mut Vec<Asked>| {
        for told in decisions {
            if groups.iter().all(|group| group.message() != told.what) {
                card(ui, told.severity, |ui| {
                    ui.label(RichText::new(words::capital(&told.what)).strong());
                    if let Some(fix) = words::done_here(&told.fix) {
                        ui.label(format!("Fix: {fix}."));
                    }
                    ui.horizontal_wrapped(|ui| {
                        for (word, tab) in [("pantry", Tab::Pantry), ("[order]", Tab::Order)] {
                            if told.fix.contains(word)
                                && ui.link(format!("Open the panel {}", tab.name())).clicked()
                            {
                                asked.push(Asked::Show(tab));
                            }
                        }
                    });
                });
            }
        }
    };
    let notes =
        groups.iter().position(|group| group.first.severity == Severity::Note).unwrap_or(groups.len());
    for (number, group) in groups.iter().enumerate() {
        if number == notes {
            of_order(&planned.overview.decide, ui, asked);
        }
        let first = group.first;
        let message = words::capital(&group.message());
        card(ui, first.severity, |ui| {
            finding(ui, (number, &message), first, document, effects.filter(|_| is_current), asked);
        });
    }
    if notes == groups.len() {
        of_order(&planned.overview.decide, ui, asked);
    }
    of_order(&planned.overview.know, ui, asked);
}

fn finding(
    ui: &mut Ui,
    (number, message): (usize, &str),
    finding: &Finding,
    document: &Document,
    effects: Option<&Effects>,
    asked: &mut Vec<Asked>,
) {
    ui.label(RichText::new(message).strong());
    if let Some(fix) = words::done_here(&finding.fix.words) {
        ui.label(format!("Fix: {fix}."));
    }
    let edit = finding.fix.edit.as_ref().map(|edit| edit.to_edit(document));
    // Of an edit that leads nowhere the button says why.
    let after = edit.as_ref().and_then(|edit| document.apply(edit).ok());
    if let (Some(after), Some(effects)) = (after, effects) {
        effect(ui, effects.of(after.document.text()).as_ref());
    }
    ui.horizontal_wrapped(|ui| {
        if let Some(edit) = &edit {
            // The change was worked out for the text that was planned.
            let is_current = effects.is_some();
            let button = ui.add_enabled(is_current, egui::Button::new("Do this fix"));
            let button = button.on_hover_text(changed_lines(document, edit));
            let said = format!("Do this fix: {}", finding.fix.words);
            button.widget_info(|| {
                egui::WidgetInfo::labeled(egui::WidgetType::Button, is_current, said.clone())
            });
            if button.clicked() {
                asked.push(Asked::edit(finding.fix.words.clone(), edit.clone()));
            }
            let id = ui.id().with(("effect", number));
            let mut open = ui.data(|data| data.get_temp::<bool>(id)).unwrap_or(false);
            if ui.toggle_value(&mut open, "Lines of the file").changed() {
                ui.data_mut(|data| data.insert_temp(id, open));
            }
            if open {
                ui.end_row();
                ui.monospace(changed_lines(document, edit));
            }
        }
        if let Some(place) = finding.place
            && ui.link("Look there").clicked()
        {
            asked.push(Asked::LookAt(at_bearing(place.radius, place.height, place.bearing)));
        }
        if document.value(&finding.field).is_some() && ui.link("Show in the panel").clicked() {
            asked.push(Asked::Select(Some(finding.field.clone())));
        }
    });
}

/// What is otherwise once a fix is done.
fn effect(ui: &mut Ui, effect: Option<&Effect>) {
    let told = match effect {
        None => {
            ui.weak("With it: being planned…");
            return;
        }
        Some(Effect::NoPlan(why)) => {
            ui.colored_label(wrong_ink(ui), format!("With it the cake cannot be planned: {why}."));
            return;
        }
        Some(Effect::Compared(told)) => told,
    };
    if told.is_nothing() {
        ui.weak("With it: no figure changes.");
        return;
    }
    let mut parts = Vec::new();
    match told.settled.len() {
        0 => parts.push("this stays open".to_owned()),
        1 => parts.push("this is settled".to_owned()),
        more => parts.push(format!("{more} are settled")),
    }
    parts.extend(told.figures.iter().cloned());
    ui.label(format!("With it: {}.", parts.join("; ")));
    for opened in &told.opened {
        ui.colored_label(
            severity_ink(ui.visuals().dark_mode, Severity::Warning),
            format!("Then open: {opened}."),
        );
    }
}

fn card<R>(ui: &mut Ui, severity: Severity, inside: impl FnOnce(&mut Ui) -> R) {
    let ink = severity_ink(ui.visuals().dark_mode, severity);
    let word = match severity {
        Severity::Error => "Must be fixed",
        Severity::Warning => "To decide",
        Severity::Note => "Good to know",
    };
    egui::Frame::group(ui.style()).stroke(egui::Stroke::new(1.0, ink)).show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.label(RichText::new(word).color(ink).small());
        inside(ui);
    });
    ui.add_space(3.0);
}
