//! Script, style and shaders of the page, and the policy under which they and nothing else run.

use base64::{Engine, prelude::BASE64_STANDARD};
use sha2::{Digest, Sha256};

use super::choices::hex;
use crate::maker_look::MakerLook;
use formats::{colour::luminance, model::Rgb};

/// The light in the shaders' language; `tests/shop/share` holds it against that of the window.
pub const LIGHT: &str = include_str!("../../../assets/share/light.glsl");

const STYLE: &str = include_str!("../../../assets/share/page.css");
const VIEWER: &str = include_str!("../../../assets/share/viewer.js");
const PAGE: &str = include_str!("../../../assets/share/page.js");
const VERTEX: &str = include_str!("../../../assets/share/surface.vertex.glsl");
const SHADING: &str = include_str!("../../../assets/share/shading.glsl");
const SHADOW: &str = include_str!("../../../assets/share/shadow.glsl");

/// What every shader begins with (GLSL ES 3.00, 3.3 and 4.5.4).
const HEAD: &str =
    "#version 300 es\nprecision highp float;\nprecision highp int;\nprecision highp sampler2DShadow;\n";

/// The style of the page in the maker's colours.
pub(super) fn style(look: &MakerLook) -> String {
    without_comments(STYLE) + &own_colours(look)
}

/// What the style says of colours, where the maker has some of their own. On paper all is black on white.
fn own_colours(look: &MakerLook) -> String {
    /// The style's own ground where the screen is dark.
    const DARK: Rgb = Rgb(0x17, 0x18, 0x1b);
    let accents = |look: &MakerLook| {
        format!(
            "--accent:{};--on-accent:{};--link:{};",
            hex(look.accent),
            hex(look.on_accent()),
            hex(look.accent_letters())
        )
    };
    let grounds = |look: &MakerLook| {
        let [ink, soft, line, caution, stage] =
            [look.ink(), look.soft(), look.line(), look.caution(), look.stage()].map(hex);
        let paper = hex(look.ground);
        format!(
            "--paper:{paper};--raised:{paper};--ink:{ink};--soft:{soft};--line:{line};--caution:{caution};--stage:{stage};"
        )
    };
    let mut out = String::new();
    if look.logo.is_some() {
        // It was made for the maker's ground, on a dark screen and on paper as well.
        let ground = hex(look.ground);
        out += &format!(
            ".logo img{{background:{ground};print-color-adjust:exact;-webkit-print-color-adjust:exact}}\n\
             @media screen and (prefers-color-scheme:dark){{.logo img{{padding:.5rem .7rem;border-radius:.5rem}}}}\n"
        );
    }
    if look.owns_accent || look.owns_ground {
        let ground = if look.owns_ground { grounds(look) } else { String::new() };
        out += &format!("@media screen{{:root{{{}{ground}}}}}\n", accents(look));
    }
    // A light ground would dazzle on a dark screen, and the accent has to be read on the dark one.
    let is_dark = luminance(look.ground) < luminance(DARK_ENOUGH);
    if (look.owns_accent || look.owns_ground) && !is_dark {
        let dark = MakerLook { ground: DARK, ..look.clone() };
        let ground = if look.owns_ground { grounds(&dark) } else { String::new() };
        out += &format!(
            "@media screen and (prefers-color-scheme:dark){{:root{{{}{ground}}}}}\n",
            accents(&dark)
        );
    }
    out
}

/// A ground that is no lighter is taken for a dark one.
const DARK_ENOUGH: Rgb = Rgb(0x50, 0x50, 0x50);

/// The script of the page.
pub(super) fn script() -> String {
    format!("{}{}", without_comments(VIEWER), without_comments(PAGE))
}

/// The shaders by their names in the script.
pub(super) fn shaders() -> serde_json::Value {
    let shader = |parts: &[&str]| {
        let text: String = parts.iter().map(|part| without_comments(part)).collect();
        format!("{HEAD}{text}")
    };
    serde_json::json!({
        "vertex": shader(&[VERTEX]),
        "surface": shader(&[LIGHT, SHADING]),
        "shadow": shader(&[SHADOW]),
    })
}

/// The Content-Security-Policy (level 3) of a page with this script and this style: nothing is loaded, sent or run but these
/// two, by their hashes, and pictures that are in the page itself.
pub(super) fn policy(script: &str, style: &str) -> String {
    let hash = |text: &str| BASE64_STANDARD.encode(Sha256::digest(text.as_bytes()));
    format!(
        "default-src 'none'; script-src 'sha256-{}'; style-src 'sha256-{}'; img-src data:; base-uri 'none'; \
         form-action 'none'",
        hash(script),
        hash(style)
    )
}

/// `text` without lines that are comments or empty, and without what lines begin with: whoever reads the page's source finds
/// the comments in the program's.
fn without_comments(text: &str) -> String {
    let lines = text.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with("//"));
    lines.flat_map(|line| [line, "\n"]).collect()
}
