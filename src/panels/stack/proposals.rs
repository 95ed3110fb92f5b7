//! Stacks that were found, side by side: what each bakes, leaves as offcut and takes, to choose one.

use std::sync::Arc;

use egui::{Color32, Rect, RichText, Sense, Stroke, Ui, pos2, vec2};
use shop::arrange::{Aim, Proposal, Proposals, Summary, summary};

use crate::{
    asked::Asked,
    elevation::{Elevation, Seen, reach},
    workshop::Tab,
};

/// Stacks that were found, with what is drawn of them.
#[derive(Debug, Clone)]
pub struct Proposed {
    /// The stacks.
    pub proposals: Arc<Proposals>,
    /// The same in figures.
    pub summary: Arc<Summary>,
    /// The lines of each, then of each that fails its own check.
    elevations: Arc<Vec<Elevation>>,
    /// The text that they were found for.
    pub text: Arc<str>,
}

impl Proposed {
    /// What is shown of `proposals` for `text`.
    pub fn new(proposals: Proposals, text: &str) -> Self {
        let all = proposals.proposals.iter().chain(&proposals.failed);
        let elevations = all.map(|proposal| Elevation::of(&proposal.plan)).collect();
        Self {
            summary: Arc::new(summary(&proposals)),
            proposals: Arc::new(proposals),
            elevations: Arc::new(elevations),
            text: text.into(),
        }
    }
}

/// Whether stacks are being looked for.
#[derive(Debug, Clone, Default)]
pub enum Search {
    /// Not asked for yet.
    #[default]
    None,
    /// At work: what it does, and how much of that is done.
    Running {
        /// What is being done.
        what: String,
        /// The share that is done, 0 to 1.
        done: f32,
    },
    /// Found.
    Found(Proposed),
    /// None could be looked for, and why.
    Failed(String),
}

/// What is asked for here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Find {
    /// Look for stacks.
    Start,
    /// Stop looking.
    Stop,
}

/// Draws the button that looks for stacks, and what was found.
pub fn proposals(ui: &mut Ui, search: &Search, text: &str, asked: &mut Vec<Asked>) -> Option<Find> {
    let mut find = None;
    ui.horizontal_wrapped(|ui| match search {
        Search::Running { what, done } => {
            ui.add(egui::ProgressBar::new(*done).text(what.as_str()).desired_width(190.0));
            if ui.button("Stop").clicked() {
                find = Some(Find::Stop);
            }
        }
        _ => {
            let button = ui.button("Find the best stack");
            let help = "Looks through the pans of the pantry for the stacks that cost least, leave the least offcut, and take \
                        fewest bakes.";
            if button.on_hover_text(help).clicked() {
                find = Some(Find::Start);
            }
        }
    });
    match search {
        Search::Failed(why) => {
            ui.label(RichText::new(why).color(crate::ink::wrong_ink(ui)));
        }
        Search::Found(found) => {
            if let Some(trouble) = &found.summary.trouble {
                let said = crate::words::capital(&trouble.message);
                ui.label(format!("{said}. Fix: {}.", trouble.fix));
            }
            let stale = &*found.text != text;
            if stale {
                ui.weak("The cake was changed since these were found.");
            }
            egui::ScrollArea::horizontal().id_salt("stacks").show(ui, |ui| {
                ui.horizontal_top(|ui| {
                    for index in 0..found.proposals.proposals.len() {
                        card(ui, found, index, stale, asked);
                    }
                    for index in 0..found.proposals.failed.len() {
                        failed_card(ui, found, index, stale, asked);
                    }
                });
            });
        }
        Search::None | Search::Running { .. } => {}
    }
    find
}

/// Width of what is shown of a stack, points.
const CARD: f32 = 148.0;

fn card(ui: &mut Ui, found: &Proposed, index: usize, stale: bool, asked: &mut Vec<Asked>) {
    let (proposal, figures) = (&found.proposals.proposals[index], &found.summary.proposals[index]);
    egui::Frame::group(ui.style()).show(ui, |ui| {
        ui.vertical(|ui| {
            ui.set_width(CARD);
            let aims: Vec<&str> = proposal.aims.iter().map(|aim| words(*aim)).collect();
            ui.label(RichText::new(crate::words::capital(&aims.join(", "))).strong());
            picture(ui, proposal, &found.elevations[index]);
            let style = proposal.plan.design.style;
            let plural = |count: usize, one: &str| {
                if count == 1 { format!("1 {one}") } else { format!("{count} {one}s") }
            };
            ui.label(format!(
                "{} of {}",
                plural(figures.bakes, "bake"),
                plural(figures.pan_sizes, "pan size")
            ));
            ui.label(format!("{} baked", style.mass_alone(figures.baked_g)));
            ui.label(format!("{:.0} % offcut", figures.offcut_percent));
            ui.label(if figures.boards == 0 {
                "no board".to_owned()
            } else {
                plural(figures.boards, "board")
            });
            let button = ui.add_enabled(!stale, egui::Button::new("Take this stack"));
            let said = format!("Take the stack: {}", aims.join(", "));
            button.widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::Button, !stale, said.clone()));
            if button.clicked() {
                asked.push(Asked::edit(format!("stack: {}", aims.join(", ")), proposal.edit.clone()));
            }
        });
    });
}

/// A stack that fails its own check: what it fails at, and that it can be taken to go on from.
fn failed_card(ui: &mut Ui, found: &Proposed, index: usize, stale: bool, asked: &mut Vec<Asked>) {
    let proposal = &found.proposals.failed[index];
    let ink = crate::ink::wrong_ink(ui);
    egui::Frame::group(ui.style()).stroke(Stroke::new(1.0, ink)).show(ui, |ui| {
        ui.vertical(|ui| {
            ui.set_width(CARD);
            let aims: Vec<&str> = proposal.aims.iter().map(|aim| words(*aim)).collect();
            ui.label(RichText::new(crate::words::capital(&aims.join(", "))).strong());
            picture(ui, proposal, &found.elevations[found.proposals.proposals.len() + index]);
            if let Some(fault) = proposal.fault() {
                ui.label(RichText::new(format!("Fails its check: {}.", fault.message)).color(ink));
            }
            let button = ui.add_enabled(!stale, egui::Button::new("Take it and fix it"));
            let said = format!("Take the stack and fix it: {}", aims.join(", "));
            button.widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::Button, !stale, said.clone()));
            if button.on_hover_text("What is wrong with it stands under To fix then.").clicked() {
                asked.push(Asked::edit(format!("stack: {}", aims.join(", ")), proposal.edit.clone()));
                asked.push(Asked::Show(Tab::ToFix));
            }
        });
    });
}

/// What an aim is called.
fn words(aim: Aim) -> &'static str {
    match aim {
        Aim::Best => "cheapest",
        Aim::LeastOffcut => "least offcut",
        Aim::FewestBakes => "fewest bakes",
        Aim::FewestPanSizes => "fewest pan sizes",
        _ => "whole layers",
    }
}

/// The layers of a stack round the carved line, small.
fn picture(ui: &mut Ui, proposal: &Proposal, elevation: &Elevation) {
    let (rect, _) = ui.allocate_exact_size(vec2(140.0, 110.0), Sense::hover());
    let slabs = &proposal.plan.stack.slabs;
    let half = slabs
        .iter()
        .map(|slab| reach(slab, Seen::Front))
        .fold(1.0, |half: f64, (from, to)| half.max(-from).max(to));
    let top = slabs.iter().map(|slab| slab.top).fold(1.0, f64::max);
    let scale = (rect.width() / (2.0 * half) as f32).min(rect.height() / top as f32);
    let at = |x: f64, z: f64| pos2(rect.center().x + x as f32 * scale, rect.bottom() - z as f32 * scale);
    for slab in slabs {
        let (from, to) = reach(slab, Seen::Front);
        let outline = Rect::from_two_pos(at(from, slab.bottom), at(to, slab.top));
        let rgb = slab.material.colour;
        ui.painter().rect(
            outline,
            0.0,
            Color32::from_rgb(rgb.0, rgb.1, rgb.2),
            Stroke::new(0.6, Color32::from_gray(110)),
            egui::StrokeKind::Middle,
        );
    }
    let stroke = Stroke::new(1.4, ui.visuals().text_color());
    if let Some(line) = elevation.front.last() {
        for pick in [|span: &(f64, f64)| span.0, |span: &(f64, f64)| span.1] {
            let end = |level: &crate::elevation::Level| Some(at(pick(level.spans.first()?), level.height));
            ui.painter().add(egui::Shape::line(line.levels.iter().filter_map(end).collect(), stroke));
        }
    }
}
