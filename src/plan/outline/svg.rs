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

mod coloured;
mod error;
mod guard;
mod ink;
mod join;
mod layer;
mod notes;
mod pick;
mod size;

pub use coloured::{ColouredDrawing, read_coloured};
pub use error::SvgError;

use kurbo::{Affine, BezPath, Shape};
use usvg::{FillRule, Options, Tree, roxmltree, tiny_skia_path::PathSegment};

use geom::{Region, Tolerance, units};

/// Which part of a drawing is wanted, and how large the drawing is.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SvgQuery {
    /// The id of the path, or of a group. `None` if the drawing holds just one path.
    pub id: Option<String>,
    /// Instead of the id, the layer: a group by its label or its id.
    pub layer: Option<String>,
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

/// All paths of a group, or one path, to be filled.
#[derive(Debug, Clone, PartialEq)]
pub struct SvgFigure {
    /// Each path, mm, y up, from the lower left corner of the drawing.
    pub parts: Vec<SvgPart>,
    /// Width and height of the drawing, mm.
    pub size: (f64, f64),
    /// What was left out or overruled, in words for the maker.
    pub notes: Vec<String>,
}

/// One path of a figure.
#[derive(Debug, Clone, PartialEq)]
pub struct SvgPart {
    /// Its subpaths.
    pub path: BezPath,
    /// Whether what lies inside twice is outside (the drawing's `fill-rule`).
    pub even_odd: bool,
    /// Whether it is drawn in white over others, and so is a hole in them.
    pub hole: bool,
}

impl SvgFigure {
    /// What the paths fill, each by its own rule and over those before it, curves made straight within `tolerance`.
    /// Open subpaths are closed, as filling does.
    pub fn region(&self, tolerance: Tolerance) -> Region {
        let filled = self.parts.iter().map(|part| {
            let contours = super::flattened(&part.path, tolerance);
            (if part.even_odd { Region::even_odd(contours) } else { Region::new(contours) }, part.hole)
        });
        filled.fold(Region::default(), |all, (region, hole)| match hole {
            true => all.difference(&region),
            false if all.is_empty() => region,
            false => all.union(&region),
        })
    }
}

/// Reads one path from the text of an SVG drawing.
///
/// # Errors
/// When the text is no SVG, has no real size, or does not hold exactly one path of the kind asked for;
/// when that path cannot be read to its end or is larger or smaller than anything on a cake; and when the
/// drawing is too large, too deep or refers to itself.
pub fn read_svg_path(text: &[u8], query: &SvgQuery) -> Result<SvgOutline, SvgError> {
    let SvgFigure { mut parts, size, notes } = read_svg_figure(text, query)?;
    match parts.len() {
        1 => Ok(SvgOutline { path: parts.remove(0).path, size, notes }),
        count => {
            let id = query.layer.clone().or_else(|| query.id.clone()).unwrap_or_default();
            Err(SvgError::SeveralInGroup { id, count })
        }
    }
}

/// Reads a path, or all paths of a group or layer, from the text of an SVG drawing.
///
/// # Errors
/// As for [`read_svg_path`], but a group may hold several paths.
pub fn read_svg_figure(text: &[u8], query: &SvgQuery) -> Result<SvgFigure, SvgError> {
    let text = guard::decode(text)?;
    let document = guard::parse(text)?;
    guard::check_weight(&document)?;
    let layer = query.layer.as_deref().map(|name| layer::find(&document, name)).transpose()?;
    let id = layer.as_ref().map(|layer| layer.id.as_str()).or(query.id.as_deref());
    if layer.as_ref().is_none_or(|layer| layer.insertion.is_none()) {
        pick::check_path_data(&document, id)?;
    } else {
        pick::check_path_data(&document, None)?;
    }
    let frame = size::find(document.root_element(), query.user_unit)?;
    let mut notes = notes::list(&document, &frame);

    let insertion = layer.as_ref().and_then(|layer| layer.insertion.clone());
    let sized = frame.apply_to(text, &document, insertion);
    let tree =
        Tree::from_str(&sized, &options()).map_err(|error| SvgError::NotSvg { reason: error.to_string() })?;
    let drawn = pick::paths(&tree, id, &document)?;
    let (named, ids) = (id.is_some(), pick::ids(&tree));

    let holes = holes(&tree, &drawn, &sized);
    let mut parts: Vec<SvgPart> =
        drawn.into_iter().zip(holes).map(|(drawn, hole)| SvgPart { hole, ..to_part(drawn) }).collect();
    let any_hole = parts.iter().any(|part| part.hole);
    if any_hole {
        notes.push("what is white and drawn over something else is taken for a hole".to_owned());
    }
    let bounds = bounds(&parts);
    let (width, height) = frame.size.unwrap_or((bounds.x1 * frame.unit, bounds.y1 * frame.unit));
    let to_mm = Affine::new([frame.unit, 0.0, 0.0, -frame.unit, 0.0, height]);
    parts.iter_mut().for_each(|part| part.path.apply_affine(to_mm));
    join_pieces(&mut parts, &mut notes);
    let shapes = parts.iter().filter(|part| !part.hole).count();
    if !named && (parts.len() > 1 && !any_hole || shapes > 1) {
        return Err(SvgError::SeveralPaths { count: parts.len(), ids });
    }
    check_extent(self::bounds(&parts))?;
    Ok(SvgFigure { parts, size: (width, height), notes })
}

/// Which of the paths that are `drawn` are white on others: none where all are white.
fn holes(tree: &Tree, drawn: &[&usvg::Path], text: &str) -> Vec<bool> {
    let all = pick::all(tree.root());
    let whites = ink::whites(text, &as_drawn()).filter(|whites| whites.len() == all.len());
    let is_white = |path: &usvg::Path| {
        let at = all.iter().position(|one| std::ptr::eq(*one, path));
        whites.as_ref().zip(at).is_some_and(|(whites, at)| whites[at])
    };
    let found: Vec<bool> = drawn.iter().map(|path| is_white(path)).collect();
    // What is drawn first lies on nothing: it is the paper.
    if found.iter().all(|white| *white) { vec![false; found.len()] } else { found }
}

/// Joins what is drawn in separate pieces: the pieces of each path, and paths that are one piece each.
fn join_pieces(parts: &mut Vec<SvgPart>, notes: &mut Vec<String>) {
    let mut told = |before: usize| {
        notes.push(format!("{before} pieces whose ends meet were joined to one outline"));
    };
    let are_pieces = parts.len() > 1 && parts.iter().all(|part| !part.hole && join::count(&part.path) == 1);
    if are_pieces {
        let all: BezPath = parts.iter().flat_map(|part| part.path.elements().to_vec()).collect();
        let (path, before, after) = join::joined(&all);
        if before == parts.len() && after == 1 && !join::folds_back(&path) {
            told(before);
            *parts = vec![SvgPart { path, even_odd: false, hole: false }];
        }
        return;
    }
    for part in parts {
        let (path, before, after) = join::joined(&part.path);
        if after < before {
            told(before);
            part.path = path;
        }
    }
}

/// How long one unit of the drawing is by its own account, mm; `None` where it gives no real size.
///
/// # Errors
/// When the text is no SVG, or its size cannot be read.
pub fn user_unit(text: &[u8]) -> Result<Option<f64>, SvgError> {
    let document = guard::parse(guard::decode(text)?)?;
    size::user_unit(document.root_element())
}

/// Everything that could hide a path, add to it or lead out of the file is switched off. Everything is
/// filled, so that usvg tells the rule of filling.
fn options() -> Options<'static> {
    const PLAIN: &str = "* { clip-path: none !important; mask: none !important; filter: none !important; \
                         marker: none !important; fill: black !important; stroke: none !important }";
    options_with(PLAIN)
}

/// The same with the drawing's own colours.
fn as_drawn() -> Options<'static> {
    const OWN: &str = "* { clip-path: none !important; mask: none !important; filter: none !important; \
                       marker: none !important }";
    options_with(OWN)
}

fn options_with(style_sheet: &str) -> Options<'static> {
    let mut options = Options { style_sheet: Some(style_sheet.to_owned()), ..Options::default() };
    options.image_href_resolver.resolve_data = Box::new(|_, _, _| None);
    options.image_href_resolver.resolve_string = Box::new(|_, _| None);
    options
}

/// The box around all parts.
fn bounds(parts: &[SvgPart]) -> kurbo::Rect {
    parts.iter().map(|part| part.path.bounding_box()).reduce(|a, b| a.union(b)).unwrap_or_default()
}

/// The path in pixels of the whole drawing, y down, and its rule.
fn to_part(drawn: &usvg::Path) -> SvgPart {
    let even_odd = drawn.fill().is_some_and(|fill| fill.rule() == FillRule::EvenOdd);
    SvgPart { path: to_kurbo(drawn), even_odd, hole: false }
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

fn check_extent(bounds: kurbo::Rect) -> Result<(), SvgError> {
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
