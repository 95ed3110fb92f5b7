//! A path from an SVG drawing, in real millimetres.
//!
//! usvg does the drawing's own geometry: nested groups, transforms, `use`, arcs, relative commands and
//! basic shapes all come out as one path of lines and Béziers. It works in pixels of single precision,
//! so a point is good to about 1e-7 of the drawing's size, and it draws arcs as cubics that stay within
//! 3e-4 of their radius.
//!
//! What usvg does not keep, and this module adds, is the real size: a drawing must say how large it is
//! in units of the real world, or the cake file must (`user_unit`). A bare number is not taken for a
//! pixel, since programs that draw write bare numbers for anything from pixels to millimetres.
//!
//! Refused: several paths where none is named, paths that are broken, and drawings made to be large,
//! deep or endless. Left out, with a note: text, pictures, clipping, and whatever lies in other files.

mod error;
mod guard;
mod notes;
mod pick;
mod size;

pub use error::SvgError;

use kurbo::{Affine, BezPath, Shape};
use usvg::{Options, Tree, roxmltree, tiny_skia_path::PathSegment};

use crate::units;

/// Which path of a drawing is wanted, and how large the drawing is.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SvgQuery {
    /// The id of the path, or of a group that holds just one. `None` if the drawing holds just one.
    pub id: Option<String>,
    /// How long one user unit of the drawing is, mm. Needed when the drawing gives no real size; goes
    /// before it otherwise.
    pub user_unit: Option<f64>,
}

/// A path from a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct SvgOutline {
    /// The path, mm, y up, from the lower left corner of the drawing.
    pub path: BezPath,
    /// Width and height of the drawing, mm.
    pub size: (f64, f64),
    /// What was left out or overruled, in words for the maker.
    pub notes: Vec<String>,
}

/// Reads one path from the text of an SVG drawing.
///
/// # Errors
/// When the text is no SVG, has no real size, or does not hold exactly one path of the kind asked for;
/// when that path cannot be read to its end or is larger or smaller than anything on a cake; and when the
/// drawing is too large, too deep or refers to itself.
pub fn read_svg_path(text: &[u8], query: &SvgQuery) -> Result<SvgOutline, SvgError> {
    let text = guard::decode(text)?;
    let document = guard::parse(text)?;
    guard::check_weight(&document)?;
    pick::check_path_data(&document, query.id.as_deref())?;
    let frame = size::find(document.root_element(), query.user_unit)?;
    let notes = notes::list(&document, &frame);

    let sized = frame.apply_to(text, &document);
    let tree =
        Tree::from_str(&sized, &options()).map_err(|error| SvgError::NotSvg { reason: error.to_string() })?;
    let drawn = pick::path(&tree, query.id.as_deref(), &document)?;

    let mut path = to_kurbo(drawn);
    let bounds = path.bounding_box();
    let (width, height) = frame.size.unwrap_or((bounds.x1 * frame.unit, bounds.y1 * frame.unit));
    path.apply_affine(Affine::new([frame.unit, 0.0, 0.0, -frame.unit, 0.0, height]));
    check_extent(&path)?;
    Ok(SvgOutline { path, size: (width, height), notes })
}

/// Everything that could hide a path, add to it or lead out of the file is switched off.
fn options() -> Options<'static> {
    const PLAIN: &str = "* { clip-path: none !important; mask: none !important; filter: none !important; \
                         marker: none !important; fill: none !important; stroke: none !important }";
    let mut options = Options { style_sheet: Some(PLAIN.to_owned()), ..Options::default() };
    options.image_href_resolver.resolve_data = Box::new(|_, _, _| None);
    options.image_href_resolver.resolve_string = Box::new(|_, _| None);
    options
}

/// The path in pixels of the whole drawing, y down.
fn to_kurbo(drawn: &usvg::Path) -> BezPath {
    let mut path = BezPath::new();
    for segment in drawn.data().segments() {
        match segment {
            PathSegment::MoveTo(p) => path.move_to(point(p)),
            PathSegment::LineTo(p) => path.line_to(point(p)),
            PathSegment::QuadTo(a, p) => path.quad_to(point(a), point(p)),
            PathSegment::CubicTo(a, b, p) => path.curve_to(point(a), point(b), point(p)),
            PathSegment::Close => path.close_path(),
        }
    }
    let t = drawn.abs_transform();
    path.apply_affine(Affine::new([t.sx, t.ky, t.kx, t.sy, t.tx, t.ty].map(f64::from)));
    path
}

fn point(p: usvg::tiny_skia_path::Point) -> kurbo::Point {
    kurbo::Point::new(p.x.into(), p.y.into())
}

fn check_extent(path: &BezPath) -> Result<(), SvgError> {
    let bounds = path.bounding_box();
    for coordinate in [bounds.x0, bounds.y0, bounds.x1, bounds.y1] {
        units::check_length(coordinate)?;
    }
    units::check_size(bounds.width().max(bounds.height()))?;
    Ok(())
}

/// The elements that usvg turns into paths.
fn is_shape(node: &roxmltree::Node) -> bool {
    const SHAPES: [&str; 7] = ["path", "rect", "circle", "ellipse", "line", "polyline", "polygon"];
    node.is_element() && SHAPES.contains(&node.tag_name().name())
}
