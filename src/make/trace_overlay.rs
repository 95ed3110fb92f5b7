//! What shows that a trace can be trusted: its outline as a drawing at true size, the outline drawn over the
//! picture, and what there is to say about it.

use glam::{DVec2, dvec2};
use image::{RgbaImage, imageops};
use kurbo::{Affine, BezPath, PathEl, Shape};

use formats::{
    drawing::{Dash, Drawing, Lettering, Page, Pen, WHITE},
    escape,
    model::Rgb,
};
use geom::{
    Tolerance,
    trace::{Background, Fitted, Half, HalfOutline, Picture, SeparateBy, Trace},
    units::{Unit, UnitStyle},
};
use plan::outline::{flattened, trace_words};

/// A trace and what was made of it.
#[derive(Debug, Clone, PartialEq)]
pub struct TraceOverlay {
    /// The trace.
    pub trace: Trace,
    /// The outline to hand out.
    pub fitted: Fitted,
    /// How alike the halves are, and which was taken; `None` for a whole outline.
    pub halves: Option<(HalfOutline, Half)>,
}

impl TraceOverlay {
    /// The overlay of a whole outline.
    pub fn whole(trace: Trace) -> Self {
        Self { fitted: trace.outline(), trace, halves: None }
    }

    /// The overlay of the half outline of a turned shape.
    ///
    /// # Errors
    /// As for [`Trace::half_outline`].
    pub fn turned(trace: Trace, half: Half) -> Result<Self, geom::trace::TraceError> {
        let halves = trace.half_outline(half)?;
        Ok(Self { fitted: halves.profile.clone(), trace, halves: Some((halves, half)) })
    }

    /// The id that the outline has in its drawing.
    pub fn id(&self) -> &'static str {
        if self.halves.is_some() { "profile" } else { "outline" }
    }

    /// The outline as an SVG drawing at true size: one user unit is a millimetre.
    pub fn svg(&self, title: &str) -> String {
        /// Room round the outline, mm.
        const MARGIN: f64 = 5.0;
        let bounds = self.fitted.path.bounding_box().inflate(MARGIN, MARGIN);
        let to_paper = Affine::new([1.0, 0.0, 0.0, -1.0, -bounds.x0, bounds.y1]);
        let data = rounded(&(to_paper * self.fitted.path.clone())).to_svg();
        let path = svg::node::element::Path::new()
            .set("id", self.id())
            .set("d", data)
            .set("fill", if self.halves.is_some() { "none" } else { "#dcdcdc" })
            .set("fill-rule", "evenodd")
            .set("stroke", "#000000")
            .set("stroke-width", "0.2");
        let (width, height) = (number(bounds.width()), number(bounds.height()));
        let document = svg::Document::new()
            .set("width", format!("{width}mm"))
            .set("height", format!("{height}mm"))
            .set("viewBox", format!("0 0 {width} {height}"))
            .add(svg::node::element::Title::new(escape::xml(title)))
            .add(path);
        format!("{document}\n")
    }

    /// What there is to say about the trace, a line a fact.
    pub fn facts(&self) -> Vec<String> {
        let trace = &self.trace;
        let mut facts = vec![
            format!("{:.1} × {:.1} mm, {:.4} mm a pixel", trace.size.x, trace.size.y, trace.pixel),
            format!(
                "area {:.0} mm², {}, {}",
                trace.area(),
                counted(trace.islands, "region"),
                counted(trace.holes, "hole")
            ),
            format!(
                "the curves stay within {:.2} mm of the edge in the picture ({:.2} mm allowed)",
                self.fitted.error, trace.allowed
            ),
            threshold(trace),
            stance(trace),
        ];
        for remark in trace_words::scale(trace, UnitStyle::new(Unit::Millimetre)) {
            facts.push(match remark.fix {
                Some(fix) => format!("{}: {fix}", remark.text),
                None => remark.text,
            });
        }
        if let Some((halves, half)) = &self.halves {
            facts.push(asymmetry(halves, *half));
        }
        if let Some(width) = trace.line {
            facts.push(format!(
                "a line drawing: the outside of its line, {width:.2} mm wide, is the outline; --fill-holes=false keeps the line"
            ));
        }
        if trace.speckles > 0 {
            facts.push(format!("{} dropped", counted(trace.speckles, "speckle")));
        }
        if trace.left_out > 0 {
            facts.push(format!(
                "{} that {} left out; --keep all keeps every region",
                counted(trace.left_out, "more region"),
                if trace.left_out == 1 { "is no speckle was" } else { "are no speckles were" }
            ));
        }
        if trace.cut_off {
            facts.push("the outline runs along the edge of the picture, as if cut off there".to_owned());
        }
        facts
    }

    /// The outline drawn over the picture, with the facts below.
    pub fn picture(&self, picture: &Picture, title: &str) -> (RgbaImage, Page) {
        let zoom = zoom(picture.size());
        let paled = paled(picture, zoom);
        let size = dvec2(paled.width().into(), paled.height().into()) / PER_MM;
        let facts = self.facts();
        let strip = 2.0 * ROOM + TITLE * LEADING + facts.len() as f64 * FACTS * LEADING;
        let mut page = Page::new(size + dvec2(0.0, strip));
        page.place(self.lines(zoom, size), DVec2::ZERO);
        page.place(caption(title, &facts, size, strip), dvec2(0.0, size.y));
        (paled, page)
    }

    fn lines(&self, zoom: f64, size: DVec2) -> Drawing {
        let place = |p: DVec2| self.trace.pixel_of(p) * zoom / PER_MM;
        let fine = Tolerance::new(self.trace.pixel / zoom / 4.0).unwrap_or(Tolerance::TOOL);
        let axis = self.halves.as_ref().map(|(halves, _)| halves.axis);
        let shift = dvec2(axis.unwrap_or(0.0), 0.0);
        let contours = flattened(&self.fitted.path, fine);
        let mut drawing = Drawing::new();
        let across = self.trace.size.x;
        let reach = |p: DVec2| p.clamp(DVec2::ZERO, size);
        let level = [dvec2(-0.6 * across, 0.0), dvec2(0.6 * across, 0.0)].map(|p| reach(place(p + shift)));
        drawing.line(level[0], level[1], Pen { width: 0.5, ink: BLUE, dash: Dash::Dashed });
        if axis.is_some() {
            let up = [dvec2(0.0, 0.0), dvec2(0.0, self.trace.size.y)].map(|p| place(p + shift));
            drawing.line(up[0], up[1], Pen { width: 0.5, ink: BLUE, dash: Dash::Middle });
        }
        let mirrored = |p: DVec2| dvec2(-p.x, p.y);
        for (width, ink) in [(1.4, WHITE), (0.6, MAGENTA)] {
            let pen = Pen { width, ink, dash: Dash::Whole };
            for contour in &contours {
                let right: Vec<DVec2> = contour.iter().map(|&p| place(p + shift)).collect();
                if axis.is_some() {
                    drawing.polyline(right, pen);
                    drawing.polyline(contour.iter().map(|&p| place(mirrored(p) + shift)).collect(), pen);
                } else {
                    drawing.closed(vec![right], None, Some(pen));
                }
            }
        }
        drawing
    }
}

/// Pixels of the overlay in a millimetre of its page.
pub const PER_MM: f64 = 4.0;
/// The longer side of the picture comes to lie between these, pixels.
const SIDES: [f64; 2] = [1000.0, 2000.0];
/// Sizes of letters and the room round them, mm of the page.
const TITLE: f64 = 7.0;
const FACTS: f64 = 5.0;
const ROOM: f64 = 5.0;
const LEADING: f64 = 1.4;
/// How much of the picture is washed out, so that the outline shows.
const PALE: f32 = 0.45;
const MAGENTA: Rgb = Rgb(196, 0, 120);
const BLUE: Rgb = Rgb(0, 90, 200);

/// How many times as large the picture is shown: a whole number where it grows, so that pixels show.
fn zoom(size: DVec2) -> f64 {
    let longer = size.max_element();
    if longer > SIDES[1] {
        SIDES[1] / longer
    } else if longer < SIDES[0] {
        (SIDES[0] / longer).ceil()
    } else {
        1.0
    }
}

/// The picture, larger or smaller and washed out.
fn paled(picture: &Picture, zoom: f64) -> RgbaImage {
    let size = (picture.size() * zoom).round().max(DVec2::ONE);
    let (width, height) = (size.x as u32, size.y as u32);
    let mut image = if zoom < 1.0 {
        imageops::thumbnail(picture.image(), width, height)
    } else {
        imageops::resize(&picture.image().to_rgba8(), width, height, imageops::FilterType::Nearest)
    };
    for pixel in image.pixels_mut() {
        for channel in &mut pixel.0[..3] {
            *channel = (f32::from(*channel) + (255.0 - f32::from(*channel)) * PALE) as u8;
        }
    }
    image
}

fn caption(title: &str, facts: &[String], size: DVec2, strip: f64) -> Drawing {
    let mut drawing = Drawing::new();
    drawing.rectangle(DVec2::ZERO, dvec2(size.x, strip), Some(WHITE), None);
    let mut down = ROOM + TITLE;
    let fitting = |text: &str, letters: f64| {
        // Sentences may not run off a narrow picture.
        let width = formats::drawing::width(text, letters, formats::drawing::Face::Plain);
        letters * ((size.x - 2.0 * ROOM) / width).min(1.0)
    };
    let letters = facts.iter().map(|fact| fitting(fact, FACTS)).fold(FACTS, f64::min);
    drawing.text(Lettering::new(title, dvec2(ROOM, down), fitting(title, TITLE) * 0.95).bold());
    down += TITLE * (LEADING - 1.0);
    for fact in facts {
        down += FACTS * LEADING;
        drawing.text(Lettering::new(fact, dvec2(ROOM, down), letters));
    }
    drawing
}

fn threshold(trace: &Trace) -> String {
    let percent = trace.threshold * 100.0;
    match (trace.separated_by, trace.background) {
        (SeparateBy::Transparency, _) => format!("parted by opacity, cut at {percent:.0} %"),
        (SeparateBy::Colour, _) => {
            format!("parted by distance from the border's colour, cut at {percent:.0} %")
        }
        (SeparateBy::Brightness, Background::Light) => {
            format!("parted by brightness, cut at {percent:.0} %, on a light ground")
        }
        (SeparateBy::Brightness, Background::Dark) => {
            format!("parted by brightness, cut at {percent:.0} %, on a dark ground")
        }
    }
}

fn stance(trace: &Trace) -> String {
    let way = |degrees: f64| if degrees > 0.0 { "clockwise" } else { "counter-clockwise" };
    match trace.base {
        None => "no base line: the outline touches the ground in one place only".to_owned(),
        Some(_) if trace.straightened != 0.0 => {
            let by = trace.straightened;
            format!("turned by {:.2}° {}, so that the base is level", by.abs(), way(by))
        }
        Some(tilt) if tilt.abs() < 0.05 => "the base is level".to_owned(),
        Some(tilt) => format!("the base is tilted by {:.2}°, and is left so", tilt.abs()),
    }
}

fn asymmetry(halves: &HalfOutline, half: Half) -> String {
    let wider = if halves.asymmetry > 0.0 { "right" } else { "left" };
    let taken = match half {
        Half::Both => "their mean is taken",
        Half::Left => "the left one is taken",
        Half::Right => "the right one is taken",
    };
    format!(
        "the {wider} half is wider by up to {:.2} mm, at height {:.0} mm ({:.2} mm on the mean); {taken}",
        halves.asymmetry.abs(),
        halves.at_height,
        halves.mean
    )
}

fn counted(count: usize, what: &str) -> String {
    match count {
        0 => format!("no {what}s"),
        1 => format!("1 {what}"),
        many => format!("{many} {what}s"),
    }
}

/// Coordinates to a tenth of a micrometre.
fn rounded(path: &BezPath) -> BezPath {
    // Dividing by a whole number gives the nearest `f64` to the decimal figure; adding zero makes −0 into 0.
    let round = |x: f64| (x * 1e4).round() / 1e4 + 0.0;
    let scale = |p: kurbo::Point| kurbo::Point::new(round(p.x), round(p.y));
    path.elements()
        .iter()
        .map(|element| match *element {
            PathEl::MoveTo(p) => PathEl::MoveTo(scale(p)),
            PathEl::LineTo(p) => PathEl::LineTo(scale(p)),
            PathEl::QuadTo(a, p) => PathEl::QuadTo(scale(a), scale(p)),
            PathEl::CurveTo(a, b, p) => PathEl::CurveTo(scale(a), scale(b), scale(p)),
            PathEl::ClosePath => PathEl::ClosePath,
        })
        .collect()
}

fn number(mm: f64) -> String {
    let text = format!("{mm:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
