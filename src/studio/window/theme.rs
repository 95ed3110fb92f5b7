//! Light and dark: colours of panel and ground.

use bevy_egui::egui::{self, Color32};

use crate::spawn;
use formats::{
    model::Rgb,
    text::{Face, fonts},
};

/// The two ways the window can look.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Theme {
    /// Dark ink on a light ground.
    #[default]
    Light,
    /// Light ink on a dark ground.
    Dark,
}

/// The family of headings.
pub fn bold() -> egui::FontFamily {
    egui::FontFamily::Name("bold".into())
}

/// Writes the window in the same fonts as the pictures.
pub fn set_fonts(ctx: &egui::Context) {
    let mut fonts = egui::FontDefinitions::default();
    let fallback = fonts.families.get(&egui::FontFamily::Proportional).cloned().unwrap_or_default();
    for (name, bytes, family) in [
        ("DejaVu Sans", fonts::file(Face::Plain), egui::FontFamily::Proportional),
        ("DejaVu Sans Bold", fonts::file(Face::Bold), bold()),
    ] {
        fonts.font_data.insert(name.into(), egui::FontData::from_static(bytes).into());
        let names = std::iter::once(name.to_owned()).chain(fallback.iter().cloned());
        fonts.families.insert(family, names.collect());
    }
    ctx.set_fonts(fonts);
}

impl Theme {
    /// The other one.
    pub fn other(self) -> Self {
        match self {
            Self::Light => Self::Dark,
            Self::Dark => Self::Light,
        }
    }

    /// Colour under and behind the cake.
    pub fn ground(self) -> Rgb {
        match self {
            Self::Light => spawn::GROUND_COLOUR,
            Self::Dark => Rgb(58, 62, 69),
        }
    }

    /// Colour of text over the picture.
    pub fn ink(self) -> Color32 {
        match self {
            Self::Light => Color32::from_rgb(43, 47, 54),
            Self::Dark => Color32::from_rgb(232, 234, 238),
        }
    }

    /// Colour behind text over the picture, partly transparent.
    pub fn text_background(self) -> Color32 {
        match self {
            Self::Light => Color32::from_rgba_unmultiplied(246, 247, 249, 225),
            Self::Dark => Color32::from_rgba_unmultiplied(34, 37, 42, 225),
        }
    }

    /// Colour of an amount that is missing.
    pub fn missing(self) -> Color32 {
        match self {
            Self::Light => Color32::from_rgb(0, 108, 120),
            Self::Dark => Color32::from_rgb(64, 200, 212),
        }
    }

    /// Sets egui's colours and text sizes.
    pub fn apply(self, ctx: &egui::Context) {
        let mut visuals = match self {
            Self::Light => egui::Visuals::light(),
            Self::Dark => egui::Visuals::dark(),
        };
        let rgb = Color32::from_rgb;
        let (panel, ink, faint, chosen) = match self {
            Self::Light => (rgb(248, 248, 250), rgb(38, 42, 48), rgb(86, 92, 101), rgb(240, 184, 152)),
            Self::Dark => (rgb(36, 39, 44), rgb(228, 230, 234), rgb(172, 178, 187), rgb(146, 68, 38)),
        };
        visuals.panel_fill = panel;
        visuals.weak_text_color = Some(faint);
        visuals.override_text_color = Some(ink);
        visuals.selection.bg_fill = chosen;
        visuals.selection.stroke.color = ink;
        // A window in which nothing happens sleeps, with the cursor in a field too.
        visuals.text_cursor.blink = false;
        // Fields are seen on any ground.
        visuals.widgets.inactive.bg_stroke = egui::Stroke::new(1.0, faint.gamma_multiply(0.45));
        ctx.set_visuals(visuals);
        ctx.all_styles_mut(|style| {
            for (kind, size) in [
                (egui::TextStyle::Body, 12.5),
                (egui::TextStyle::Button, 12.5),
                (egui::TextStyle::Monospace, 12.0),
            ] {
                if let Some(font) = style.text_styles.get_mut(&kind) {
                    font.size = size;
                }
            }
        });
    }
}
