//! Script, style and shaders of the page, and the policy under which they and nothing else run.

use base64::{Engine, prelude::BASE64_STANDARD};
use sha2::{Digest, Sha256};

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

/// The style of the page.
pub(super) fn style() -> String {
    without_comments(STYLE)
}

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
