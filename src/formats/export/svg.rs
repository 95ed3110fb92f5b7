//! A page → SVG at true size: one unit of the drawing is a millimetre (W3C SVG 2: width and height in mm
//! with a view box of the same numbers).
//!
//! Text stays text; the font is named, not embedded, so that a program without it takes its own.

use std::fmt::Write;

use base64::{Engine, engine::general_purpose::STANDARD};
use glam::DVec2;
use image::{ImageFormat, RgbaImage};
use svg::node::element::{ClipPath, Definitions, Group, Image, Path, Rectangle, Text, Title};

use crate::{
    drawing::{Face, Lettering, Mark, Page, PlacedDrawing, fonts},
    escape,
    model::Rgb,
};

/// The SVG drawing of `page`, called `title`.
pub fn svg(title: &str, page: &Page) -> String {
    let mut frames = Definitions::new();
    let mut groups = Vec::new();
    for (index, placed) in page.placed.iter().enumerate() {
        let mut group = group(placed);
        if let Some((lo, hi)) = placed.frame {
            let id = format!("frame-{index}");
            let size = hi - lo;
            let frame = Rectangle::new()
                .set("x", number(lo.x))
                .set("y", number(lo.y))
                .set("width", number(size.x))
                .set("height", number(size.y));
            frames = frames.add(ClipPath::new().set("id", id.as_str()).add(frame));
            group = Group::new().set("clip-path", format!("url(#{id})")).add(group);
        }
        groups.push(group);
    }
    let mut document = svg::Document::new()
        .set("width", format!("{}mm", number(page.size.x)))
        .set("height", format!("{}mm", number(page.size.y)))
        // In a dark window as well; no shape that a cutting plotter would follow.
        .set("style", "background: #ffffff")
        .set("viewBox", format!("0 0 {} {}", number(page.size.x), number(page.size.y)))
        .add(Title::new(escape::xml(title)));
    if page.placed.iter().any(|placed| placed.frame.is_some()) {
        document = document.add(frames);
    }
    let document = groups.into_iter().fold(document, svg::Document::add);
    format!("{document}\n")
}

fn group(placed: &PlacedDrawing) -> Group {
    let mut group = Group::new();
    for mark in &placed.drawing.marks {
        group = match mark {
            Mark::Path { contours, closed, fill, pen } => {
                let mut path = Path::new().set("d", data(contours, *closed, placed.at));
                path = path.set("fill", fill.map_or("none".into(), colour));
                if let Some(pen) = pen {
                    path = path
                        .set("stroke", colour(pen.ink))
                        .set("stroke-width", number(pen.width))
                        .set("stroke-linejoin", "round");
                    let dash: Vec<String> = pen.dash.pattern().iter().map(|&x| number(x)).collect();
                    if !dash.is_empty() {
                        path = path.set("stroke-dasharray", dash.join(" "));
                    }
                }
                group.add(path)
            }
            Mark::Text(lettering) => group.add(text(lettering, placed.at)),
            Mark::Picture { image, corner, size } => group.add(picture(image, *corner + placed.at, *size)),
        };
    }
    group
}

/// A picture inside the file, as PNG.
fn picture(image: &RgbaImage, corner: DVec2, size: DVec2) -> Image {
    let mut png = std::io::Cursor::new(Vec::new());
    // Writing to memory cannot fail.
    let _ = image.write_to(&mut png, ImageFormat::Png);
    Image::new()
        .set("x", number(corner.x))
        .set("y", number(corner.y))
        .set("width", number(size.x))
        .set("height", number(size.y))
        .set("href", format!("data:image/png;base64,{}", STANDARD.encode(png.into_inner())))
}

fn text(lettering: &Lettering, by: DVec2) -> Text {
    let at = lettering.at + by;
    let anchor = match lettering.anchor {
        x if x < 0.25 => "start",
        x if x < 0.75 => "middle",
        _ => "end",
    };
    let mut text = Text::new(escape::xml(&lettering.text))
        .set("x", number(at.x))
        .set("y", number(at.y))
        .set("font-family", format!("'{}', Verdana, sans-serif", fonts::FAMILY))
        .set("font-size", number(lettering.size))
        .set("fill", colour(lettering.ink));
    if lettering.turn != 0.0 {
        let [x, y] = [at.x, at.y].map(number);
        text = text.set("transform", format!("rotate({} {x} {y})", number(lettering.turn)));
    }
    if anchor != "start" {
        text = text.set("text-anchor", anchor);
    }
    if lettering.face == Face::Bold {
        text = text.set("font-weight", "bold");
    }
    text
}

fn colour(ink: Rgb) -> String {
    format!("#{:02x}{:02x}{:02x}", ink.0, ink.1, ink.2)
}

fn data(contours: &[Vec<DVec2>], closed: bool, by: DVec2) -> String {
    let mut data = String::new();
    for contour in contours.iter().filter(|contour| contour.len() > 1) {
        for (i, p) in contour.iter().map(|&p| p + by).enumerate() {
            let letter = if i == 0 { 'M' } else { 'L' };
            // Writing to a string cannot fail.
            let _ = write!(data, "{letter}{} {}", number(p.x), number(p.y));
        }
        if closed {
            data.push('Z');
        }
    }
    data
}

/// A length to a micrometre, with a decimal point and without zeros that say nothing.
fn number(mm: f64) -> String {
    let text = format!("{mm:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.into() }
}
