//! Colours that say how bad something is, on a light and on a dark ground.

use cakefile::Severity;
use egui::{Color32, Ui};

/// The colour of a finding.
pub fn severity_ink(is_dark: bool, severity: Severity) -> Color32 {
    match (severity, is_dark) {
        (Severity::Error, false) => Color32::from_rgb(176, 32, 42),
        (Severity::Error, true) => Color32::from_rgb(255, 122, 122),
        (Severity::Warning, false) => Color32::from_rgb(158, 92, 0),
        (Severity::Warning, true) => Color32::from_rgb(245, 184, 92),
        (Severity::Note, false) => Color32::from_rgb(40, 92, 150),
        (Severity::Note, true) => Color32::from_rgb(140, 190, 245),
    }
}

/// The colour of what is wrong.
pub fn wrong_ink(ui: &Ui) -> Color32 {
    severity_ink(ui.visuals().dark_mode, Severity::Error)
}
