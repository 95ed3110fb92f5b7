//! Outlines: profiles, silhouettes, sections and details, written in every way that there is.

use std::f64::consts::TAU;
use std::fmt::Write;

use geom::trace::card::layout::is_black;
use glam::{DVec2, dvec2};

use cakefile::schema::{
    Ground, Half, Keep, Outline, PictureOutline, SeparateBy, Stroke, SvgPath, TextOutline,
};

use super::Tape;
use crate::pictures;

/// Corners of an outline, mm.
pub type Corners = Vec<[f64; 2]>;

/// Half a profile: [radius, height] from the foot up, heights rising or level, radii up to `reach`.
pub fn profile(t: &mut Tape, reach: f64, height: f64) -> Corners {
    let steps = t.count(1, 5);
    let mut corners = vec![[t.number(45.0, reach), 0.0]];
    for step in 1..=steps {
        let up = height * step as f64 / steps as f64;
        // A ledge: out or in at the same height.
        if t.chance(6) {
            let [_, z] = corners[corners.len() - 1];
            corners.push([t.number(45.0, reach), z]);
        }
        corners.push([t.number(35.0, reach), up]);
    }
    corners.dedup();
    if t.chance(4) {
        corners.push([0.0, height]);
    }
    // Not where a ledge on the board would lead back along it.
    if t.chance(6) && corners.get(1).is_none_or(|next| next[1] > 0.0) {
        corners.insert(0, [0.0, 0.0]);
    }
    corners
}

/// A silhouette on the board: up the right side and down the left one.
pub fn silhouette(t: &mut Tape, reach: f64, height: f64) -> Corners {
    let mut right = vec![[t.number(40.0, reach), 0.0]];
    let mut left = vec![[-t.number(40.0, reach), 0.0]];
    for side in [&mut right, &mut left] {
        let sign = side[0][0].signum();
        let steps = t.count(1, 4);
        for step in 1..=steps {
            side.push([sign * t.number(20.0, reach), height * step as f64 / steps as f64]);
        }
    }
    right.extend(left.into_iter().rev());
    right
}

/// A star-shaped outline about the middle, radii from `least` to `most`.
pub fn star(t: &mut Tape, least: f64, most: f64) -> Corners {
    let count = t.count(3, 9);
    let start = t.share(0.0, TAU);
    (0..count)
        .map(|i| {
            let (sin, cos) = (start + TAU * i as f64 / count as f64).sin_cos();
            let r = t.number(least, most);
            [r * cos, r * sin]
        })
        .collect()
}

/// What an outline is of, which decides how it may be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// Half of a turned shape.
    Profile,
    /// A view of a crossed shape.
    Silhouette,
    /// About its own middle.
    Detail,
}

/// `corners` as an outline, in any form that keeps them, or nearly.
pub fn outline(t: &mut Tape, corners: &Corners, of: Of) -> Outline {
    match t.below(6) {
        1 => drawn(t, corners),
        2 => Outline { svg: Some(svg(t, corners, of)), ..empty() },
        3 => Outline { picture: Some(picture(t, corners, of)), ..empty() },
        _ => Outline { points: Some(corners.iter().map(|p| p.map(|x| t.length_of(x))).collect()), ..empty() },
    }
}

fn empty() -> Outline {
    Outline {
        points: None,
        from: None,
        draw: None,
        svg: None,
        picture: None,
        circle: None,
        rectangle: None,
        ellipse: None,
        text: None,
        stroke: None,
    }
}

/// A circle, a rectangle, an ellipse, letters, or any outline about its middle; all that it holds, or a line along it.
pub fn detail(t: &mut Tape, least: f64, most: f64) -> Outline {
    let outline = match t.below(5) {
        0 => Outline { circle: Some(t.size(2.0 * least, 2.0 * most)), ..empty() },
        1 => Outline { rectangle: Some([t.size(least, 2.0 * most), t.size(least, 2.0 * most)]), ..empty() },
        3 => Outline { ellipse: Some([t.size(least, 2.0 * most), t.size(least, 2.0 * most)]), ..empty() },
        4 => Outline { text: Some(text(t, least, most)), ..empty() },
        _ => {
            let corners = star(t, least, most);
            outline(t, &corners, Of::Detail)
        }
    };
    Outline { stroke: t.maybe(4, |t| t.size(0.6, most)), ..outline }
}

/// Words of one line or two, in the program's letters or those of a file.
fn text(t: &mut Tape, least: f64, most: f64) -> TextOutline {
    let capital = t.number(least, most);
    let font = t.maybe(4, |t| t.file("ttf", LETTERS.to_vec()));
    TextOutline {
        words: (*t.pick(&["A", "Mia 7", "é", "B8", "Lo\nve", "Äl, 100 %"])).to_owned(),
        size: t.size_of(capital),
        bold: t.maybe(3, |t| t.chance(2)).filter(|_| font.is_none()),
        font,
        spacing: t.maybe(4, |t| t.length(-0.3 * capital, capital)),
    }
}

/// A font that lies beside a cake file.
const LETTERS: &[u8] = include_bytes!("../../../assets/fonts/DejaVuSans-Bold.ttf");

/// Straight pieces, arcs and curves through the corners.
fn drawn(t: &mut Tape, corners: &Corners) -> Outline {
    let mut from = corners[0];
    let mut draw = Vec::new();
    for &to in &corners[1..] {
        let along = [to[0] - from[0], to[1] - from[1]];
        let aside = [along[1], -along[0]];
        let at = |share: f64, bulge: f64| {
            let p = [0, 1].map(|i| from[i] + share * along[i] + bulge * aside[i]);
            // Nothing beyond the axis or below the board that was not there before.
            [0, 1].map(|i| p[i].clamp(from[i].min(to[i]), from[i].max(to[i])))
        };
        let (through, curve) = match t.below(3) {
            1 => (Some(at(0.5, 0.08)), None),
            2 => (None, Some([at(0.3, 0.1), at(0.7, 0.1)])),
            _ => (None, None),
        };
        let is_straight = along[0] == 0.0 || along[1] == 0.0;
        draw.push(Stroke {
            to: to.map(|x| t.length_of(x)),
            through: through.filter(|_| !is_straight).map(|p| p.map(|x| t.length_of(x))),
            curve: curve.map(|handles| handles.map(|p| p.map(|x| t.length_of(x)))),
        });
        from = to;
    }
    Outline { from: Some(corners[0].map(|x| t.length_of(x))), draw: Some(draw), ..empty() }
}

/// The box round corners.
fn bounds(corners: &Corners) -> ([f64; 2], [f64; 2]) {
    let of = |start: f64, pick: fn(f64, f64) -> f64| {
        [0, 1].map(|i| corners.iter().map(|p| p[i]).fold(start, pick))
    };
    (of(f64::INFINITY, f64::min), of(f64::NEG_INFINITY, f64::max))
}

/// All corners of the solid outline, a profile closed along the axis.
fn closed(corners: &Corners, of: Of) -> Corners {
    let mut all = corners.clone();
    if of == Of::Profile {
        all.insert(0, [0.0, corners[0][1]]);
        all.push([0.0, corners[corners.len() - 1][1]]);
        all.dedup();
    }
    all
}

/// A drawing of the outline.
fn svg(t: &mut Tape, corners: &Corners, of: Of) -> SvgPath {
    let all = closed(corners, of);
    let (lo, hi) = bounds(&all);
    let (wide, high) = (hi[0] - lo[0], hi[1] - lo[1]);
    let mut path = String::from("M");
    for [x, y] in &all {
        let _ = write!(path, " {},{}", x - lo[0], hi[1] - y);
    }
    path.push_str(" Z");
    let user_unit = t.maybe(3, |t| t.size_of(1.0));
    let size =
        if user_unit.is_some() { String::new() } else { format!(" width=\"{wide}mm\" height=\"{high}mm\"") };
    let layer = t.chance(3);
    let (open, close) = if layer { ("<g id=\"cut\">", "</g>") } else { ("", "") };
    let text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\"{size} viewBox=\"0 0 {wide} {high}\">{open}<path id=\"p\" \
         d=\"{path}\"/>{close}</svg>"
    );
    let file = t.file("svg", text.into_bytes());
    let id = (!layer).then(|| "p".to_owned()).filter(|_| t.chance(2));
    let axis = (of == Of::Silhouette).then(|| t.length_of(-lo[0]));
    SvgPath { file, id, layer: layer.then(|| "cut".to_owned()), user_unit, axis }
}

/// A picture of the outline, about 200 pixels high.
fn picture(t: &mut Tape, corners: &Corners, of: Of) -> PictureOutline {
    let mut all = closed(corners, of);
    if of == Of::Profile {
        // The whole silhouette, both halves alike.
        let mirrored: Corners = all.iter().rev().map(|[x, y]| [-x, *y]).collect();
        all.extend(mirrored);
    }
    let (lo, hi) = bounds(&all);
    let sized_by = t.below(3);
    // A card is 297 mm high, and its marks need 1.5 pixels a millimetre.
    let least = if sized_by == 1 { 1.5 } else { 0.0 };
    let scale = (200.0 / (hi[1] - lo[1])).max(least);
    let (wide, high) = ((hi[0] - lo[0]) * scale, (hi[1] - lo[1]) * scale);
    const EDGE: f64 = 20.0;
    let own = (wide + 2.0 * EDGE, high + 2.0 * EDGE);
    let shown = if sized_by == 1 { (own.0 + 215.0 * scale, own.1.max(302.0 * scale)) } else { own };
    let middle = dvec2(own.0 / scale + 105.0, 150.0);
    let image = pictures::drawn(shown.0 as u32, shown.1 as u32, |x, y| {
        let outline = inside(&all, [(x - EDGE) / scale + lo[0], hi[1] - (y - EDGE) / scale]) * scale;
        if sized_by == 1 && x > own.0 { card_at(x, y, scale, middle) } else { outline }
    });
    let file = t.file("png", pictures::png(&image));
    let corner = [EDGE, EDGE + high];
    let (height, marks, across) = match sized_by {
        0 => (Some(t.size_of(hi[1] - lo[1])), None, None),
        1 => (None, None, None),
        _ => (None, Some([[EDGE, EDGE], corner]), Some([corner, [EDGE + wide, EDGE + high]])),
    };
    PictureOutline {
        file,
        height,
        width: None,
        marks,
        distance: marks.map(|_| t.size_of(hi[1] - lo[1])),
        marks_across: across,
        distance_across: across.map(|_| t.size_of(hi[0] - lo[0])),
        card: if sized_by == 1 { t.maybe(2, |_| true) } else { t.maybe(4, |_| false) },
        separate_by: t.maybe(4, |_| SeparateBy::Brightness),
        threshold: t.maybe(5, |t| t.share(0.4, 0.6)),
        ground: t.maybe(4, |_| Ground::Light),
        speckle: t.maybe(5, |t| t.size(0.5, 3.0)),
        keep: t.maybe(5, |_| Keep::Largest),
        fill_holes: t.maybe(5, |t| t.chance(2)),
        error: t.maybe(4, |t| t.size(0.2, 1.0)),
        straighten: t.maybe(4, |t| t.chance(2)),
        half: (of == Of::Profile).then(|| *t.pick(&[Half::Both, Half::Left, Half::Right])),
        axis: None,
    }
}

/// How much of a pixel the scale card makes black, less a half: from the mean of nine points of it.
fn card_at(x: f64, y: f64, scale: f64, middle: DVec2) -> f64 {
    let black = |i: u32| {
        let off = dvec2(f64::from(i % 3), f64::from(i / 3)) / 3.0 - 1.0 / 3.0;
        let p = (dvec2(x, y) + off) / scale - middle;
        f64::from(u8::from(is_black(dvec2(p.x, -p.y))))
    };
    (0..9).map(black).sum::<f64>() / 9.0 - 0.5
}

/// How far `p` lies inside a polygon; negative outside.
fn inside(corners: &Corners, [x, y]: [f64; 2]) -> f64 {
    let mut is_inside = false;
    let mut nearest = f64::INFINITY;
    for (i, &[ax, ay]) in corners.iter().enumerate() {
        let [bx, by] = corners[(i + 1) % corners.len()];
        if (ay > y) != (by > y) && x < (bx - ax) * (y - ay) / (by - ay) + ax {
            is_inside = !is_inside;
        }
        let (dx, dy) = (bx - ax, by - ay);
        let share = (((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy).max(1e-12)).clamp(0.0, 1.0);
        nearest = nearest.min((ax + share * dx - x).hypot(ay + share * dy - y));
    }
    if is_inside { nearest } else { -nearest }
}
