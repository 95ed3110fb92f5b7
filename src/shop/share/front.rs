//! The finished cake from the front as a drawing, for whoever reads the page without scripts.

use std::fmt::Write;

use glam::{DAffine3, DMat3, DVec3};

use super::{choices::hex, parts::Parts};
use formats::export::simplified;
use geom::Solid;

/// How far the drawing may stray from the true outline, mm.
const ERROR: f64 = 0.4;

/// The drawing as an SVG element called `label`, which is escaped already; empty where there is nothing to draw.
pub(super) fn front(parts: &Parts, label: &str) -> String {
    // Right, up, towards the eye.
    let frame = DAffine3::from_mat3(DMat3::from_cols(DVec3::X, DVec3::NEG_Z, DVec3::Y));
    let mut drawn = Vec::new();
    let mut bounds: Option<(glam::DVec2, glam::DVec2)> = None;
    for part in parts.finished() {
        let solid = Solid::of_closed(&simplified(&part.mesh, ERROR).mesh).placed(&frame);
        let Some((low, high)) = solid.bounds() else { continue };
        let region = solid.projection();
        let Some((from, to)) = region.bounds() else { continue };
        bounds = Some(bounds.map_or((from, to), |(lo, hi)| (lo.min(from), hi.max(to))));
        drawn.push(((low.z + high.z) / 2.0, hex(part.seen), region));
    }
    let Some((low, high)) = bounds else { return String::new() };
    // The furthest first: what lies behind the middle is hidden by the body.
    drawn.sort_by(|a, b| a.0.total_cmp(&b.0));
    let size = high - low;
    let mut svg = format!(
        "<svg class=\"outline\" role=\"img\" aria-label=\"{label}\" viewBox=\"{:.0} {:.0} {:.0} {:.0}\">",
        low.x.floor(),
        (-high.y).floor(),
        size.x.ceil() + 1.0,
        size.y.ceil() + 1.0
    );
    for (_, colour, region) in drawn {
        let mut path = String::new();
        for contour in region.contours() {
            for (i, p) in contour.iter().enumerate() {
                let _ = write!(path, "{}{:.1} {:.1}", if i == 0 { 'M' } else { 'L' }, p.x, -p.y);
            }
            path.push('Z');
        }
        let _ = write!(
            svg,
            "<path fill=\"{colour}\" stroke=\"#0004\" stroke-width=\".6\" fill-rule=\"evenodd\" d=\"{path}\"/>"
        );
    }
    svg + "</svg>"
}
