//! A drawing of paths → pixels: fills and strokes in plain colours and gradients, opacity, clip paths.
//!
//! usvg has resolved the drawing's styles, units and shapes already; what is left are paths with their paint, which tiny-skia
//! fills. Masks, filters, patterns, blending, and pictures and letters in a drawing are refused by name: half a logo would be
//! worse than none.

use image::RgbaImage;
use tiny_skia::{
    Color, FillRule, GradientStop, LinearGradient, Mask, Paint, Path, PathBuilder, Pixmap, PixmapPaint,
    Point, RadialGradient, Shader, SpreadMode, Stroke, StrokeDash, Transform,
};
use usvg::{BlendMode, ClipPath, Group, Node, Tree, tiny_skia_path::PathSegment};

/// What is not drawn, with its article.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct NotDrawn(pub &'static str);

/// The drawing as large as fits into this many pixels.
pub(super) fn rasterised(tree: &Tree, (wide, high): (u32, u32)) -> Result<RgbaImage, NotDrawn> {
    let size = tree.size();
    let scale = f32::min(wide as f32 / size.width(), high as f32 / size.height());
    let [wide, high] = [size.width(), size.height()].map(|n| ((n * scale).round() as u32).max(1));
    let mut pixmap = Pixmap::new(wide, high).ok_or(NotDrawn("no area"))?;
    draw_group(tree.root(), Transform::from_scale(scale, scale), &mut pixmap)?;
    let straight = pixmap.pixels().iter().map(|pixel| pixel.demultiply());
    let bytes = straight.flat_map(|c| [c.red(), c.green(), c.blue(), c.alpha()]).collect();
    Ok(RgbaImage::from_raw(wide, high, bytes).expect("four bytes for each pixel"))
}

fn draw_group(group: &Group, outer: Transform, pixmap: &mut Pixmap) -> Result<(), NotDrawn> {
    if group.mask().is_some() {
        return Err(NotDrawn("a mask"));
    }
    if !group.filters().is_empty() {
        return Err(NotDrawn("a filter"));
    }
    if group.blend_mode() != BlendMode::Normal {
        return Err(NotDrawn("a blend mode"));
    }
    let place = outer.pre_concat(transform(group.transform()));
    if group.opacity().get() == 1.0 && group.clip_path().is_none() {
        return draw_children(group, place, pixmap);
    }
    // Drawn by itself, then laid over what is there.
    let mut layer = Pixmap::new(pixmap.width(), pixmap.height()).expect("as large as the one below");
    draw_children(group, place, &mut layer)?;
    if let Some(clip) = group.clip_path() {
        layer.apply_mask(&clip_mask(clip, place, (pixmap.width(), pixmap.height()))?);
    }
    let paint = PixmapPaint { opacity: group.opacity().get(), ..PixmapPaint::default() };
    pixmap.draw_pixmap(0, 0, layer.as_ref(), &paint, Transform::identity(), None);
    Ok(())
}

fn draw_children(group: &Group, place: Transform, pixmap: &mut Pixmap) -> Result<(), NotDrawn> {
    group.children().iter().try_for_each(|node| match node {
        Node::Group(group) => draw_group(group, place, pixmap),
        Node::Path(path) if path.is_visible() => draw_path(path, place, pixmap),
        Node::Path(_) => Ok(()),
        Node::Image(_) => Err(NotDrawn("a picture")),
        Node::Text(_) => Err(NotDrawn("text")),
    })
}

fn draw_path(drawn: &usvg::Path, place: Transform, pixmap: &mut Pixmap) -> Result<(), NotDrawn> {
    let Some(path) = path(drawn) else { return Ok(()) };
    let fill = |pixmap: &mut Pixmap| {
        let Some(fill) = drawn.fill() else { return Ok(()) };
        let paint = paint(fill.paint(), fill.opacity().get())?;
        pixmap.fill_path(&path, &paint, rule(fill.rule()), place, None);
        Ok(())
    };
    let line = |pixmap: &mut Pixmap| {
        let Some(line) = drawn.stroke() else { return Ok(()) };
        pixmap.stroke_path(&path, &paint(line.paint(), line.opacity().get())?, &stroke(line), place, None);
        Ok(())
    };
    match drawn.paint_order() {
        usvg::PaintOrder::FillAndStroke => fill(pixmap).and_then(|()| line(pixmap)),
        usvg::PaintOrder::StrokeAndFill => line(pixmap).and_then(|()| fill(pixmap)),
    }
}

/// Where a clip path lets something through.
fn clip_mask(clip: &ClipPath, place: Transform, (wide, high): (u32, u32)) -> Result<Mask, NotDrawn> {
    let mut all = Mask::new(wide, high).expect("as large as the picture");
    let place = place.pre_concat(transform(clip.transform()));
    fill_clip(clip.root(), place, &mut all)?;
    if let Some(other) = clip.clip_path() {
        let other = clip_mask(other, place, (wide, high))?;
        for (one, other) in all.data_mut().iter_mut().zip(other.data()) {
            *one = ((u16::from(*one) * u16::from(*other) + 127) / 255) as u8;
        }
    }
    Ok(all)
}

fn fill_clip(group: &Group, outer: Transform, mask: &mut Mask) -> Result<(), NotDrawn> {
    if group.clip_path().is_some() || group.mask().is_some() {
        return Err(NotDrawn("a clip path in a clip path"));
    }
    let place = outer.pre_concat(transform(group.transform()));
    group.children().iter().try_for_each(|node| match node {
        Node::Group(group) => fill_clip(group, place, mask),
        Node::Path(drawn) => {
            if let (Some(path), Some(fill)) = (path(drawn), drawn.fill()) {
                mask.fill_path(&path, rule(fill.rule()), true, place);
            }
            Ok(())
        }
        Node::Image(_) | Node::Text(_) => Err(NotDrawn("a clip path of text or pictures")),
    })
}

fn path(drawn: &usvg::Path) -> Option<Path> {
    let mut path = PathBuilder::new();
    for segment in drawn.data().segments() {
        match segment {
            PathSegment::MoveTo(p) => path.move_to(p.x, p.y),
            PathSegment::LineTo(p) => path.line_to(p.x, p.y),
            PathSegment::QuadTo(c, p) => path.quad_to(c.x, c.y, p.x, p.y),
            PathSegment::CubicTo(a, b, p) => path.cubic_to(a.x, a.y, b.x, b.y, p.x, p.y),
            PathSegment::Close => path.close(),
        }
    }
    path.finish()
}

fn transform(given: usvg::Transform) -> Transform {
    Transform::from_row(given.sx, given.ky, given.kx, given.sy, given.tx, given.ty)
}

fn rule(given: usvg::FillRule) -> FillRule {
    match given {
        usvg::FillRule::NonZero => FillRule::Winding,
        usvg::FillRule::EvenOdd => FillRule::EvenOdd,
    }
}

fn paint(given: &usvg::Paint, opacity: f32) -> Result<Paint<'static>, NotDrawn> {
    let shader = match given {
        usvg::Paint::Color(colour) => Shader::SolidColor(shade(*colour, opacity)),
        usvg::Paint::LinearGradient(gradient) => LinearGradient::new(
            Point::from_xy(gradient.x1(), gradient.y1()),
            Point::from_xy(gradient.x2(), gradient.y2()),
            stops(gradient, opacity),
            spread(gradient.spread_method()),
            transform(gradient.transform()),
        )
        .ok_or(NotDrawn("a gradient without length"))?,
        // tiny-skia's focal circle has no radius of its own.
        usvg::Paint::RadialGradient(gradient) if gradient.fr().get() > 0.0 => {
            return Err(NotDrawn("a gradient between two circles"));
        }
        usvg::Paint::RadialGradient(gradient) => RadialGradient::new(
            Point::from_xy(gradient.fx(), gradient.fy()),
            Point::from_xy(gradient.cx(), gradient.cy()),
            gradient.r().get(),
            stops(gradient, opacity),
            spread(gradient.spread_method()),
            transform(gradient.transform()),
        )
        .ok_or(NotDrawn("a gradient without length"))?,
        usvg::Paint::Pattern(_) => return Err(NotDrawn("a pattern")),
    };
    Ok(Paint { shader, anti_alias: true, ..Paint::default() })
}

fn shade(colour: usvg::Color, opacity: f32) -> Color {
    let mut shade = Color::from_rgba8(colour.red, colour.green, colour.blue, 255);
    shade.apply_opacity(opacity);
    shade
}

fn stops(gradient: &usvg::BaseGradient, opacity: f32) -> Vec<GradientStop> {
    let stop = |stop: &usvg::Stop| {
        GradientStop::new(stop.offset().get(), shade(stop.color(), stop.opacity().get() * opacity))
    };
    gradient.stops().iter().map(stop).collect()
}

fn spread(given: usvg::SpreadMethod) -> SpreadMode {
    match given {
        usvg::SpreadMethod::Pad => SpreadMode::Pad,
        usvg::SpreadMethod::Reflect => SpreadMode::Reflect,
        usvg::SpreadMethod::Repeat => SpreadMode::Repeat,
    }
}

fn stroke(given: &usvg::Stroke) -> Stroke {
    let dash = given.dasharray().and_then(|lengths| StrokeDash::new(lengths.to_vec(), given.dashoffset()));
    Stroke {
        width: given.width().get(),
        miter_limit: given.miterlimit().get(),
        line_cap: match given.linecap() {
            usvg::LineCap::Butt => tiny_skia::LineCap::Butt,
            usvg::LineCap::Round => tiny_skia::LineCap::Round,
            usvg::LineCap::Square => tiny_skia::LineCap::Square,
        },
        line_join: match given.linejoin() {
            usvg::LineJoin::Miter => tiny_skia::LineJoin::Miter,
            usvg::LineJoin::MiterClip => tiny_skia::LineJoin::MiterClip,
            usvg::LineJoin::Round => tiny_skia::LineJoin::Round,
            usvg::LineJoin::Bevel => tiny_skia::LineJoin::Bevel,
        },
        dash,
    }
}
