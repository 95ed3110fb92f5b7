//! An outline on the surface as written → a [`Relief`].

use glam::DVec2;
use kurbo::BezPath;

use super::Resolver;
use crate::{
    design::{Drawn, Letters, Lies, Relief, Side},
    outline::{self, DrawnOn, Placement, View},
};
use cakefile::{Diagnostic, FieldPath, schema};
use geom::{Region, Tolerance, region};

/// Smaller than any cutter, mm².
const LEAST_AREA: f64 = 1e-2;
/// No line is piped, rolled or pressed narrower, mm: common practice, no source.
const NARROWEST_LINE: f64 = 0.5;

impl Resolver<'_> {
    pub(super) fn relief(&mut self, tool: &schema::OutlineTool, field: &FieldPath) -> Option<Relief> {
        let at = field.key("shape");
        if tool.top.is_some() {
            self.refuse_beside_top(tool, field)?;
        }
        let path = match tool.as_drawn {
            Some(side) => self.path_as_drawn(tool, side, field),
            None => self.detail_path(&tool.shape, &at),
        };
        let height = self.maybe(tool.height.as_ref(), |s, height| s.length(height, field.key("height")));
        let bearing = self.angle(tool.bearing.as_ref(), field.key("bearing"));
        let turn = self.angle(tool.turn.as_ref(), field.key("turn"));
        let depth = self.size(&tool.depth, field.key("depth"));
        let line = self.maybe(tool.shape.stroke.as_ref(), |s, width| s.size(width, at.key("stroke")));
        let (path, line, turn) = (path?, line?, turn?);
        let region = match line {
            Some(width) => self.line_along(&path, width, &at),
            None => self.filled(&path, &at),
        };
        let outline = region?.placed(turn.to_radians(), DVec2::ZERO);
        let letters = match &tool.shape.text {
            Some(text) => {
                let capital = self.size(&text.size, at.key("text").key("size"))?;
                Some(Letters { words: text.words.clone(), capital, turn })
            }
            None => None,
        };
        let depth = depth?;
        if let Some(top) = &tool.top {
            let lies = Lies::Top(self.point2(top, &field.key("top"))?);
            return Some(Relief {
                outline,
                spin: 0.0,
                height: 0.0,
                bearing: 0.0,
                lies,
                depth,
                letters,
                line,
            });
        }
        let Some(side) = tool.as_drawn else {
            let Some(height) = height? else {
                self.refuse(
                    field.clone(),
                    "it is not said where the outline lies",
                    "give `height` (and `bearing`) on the side, `top` on the top, or `as_drawn` where it lies as it is drawn",
                );
                return None;
            };
            let lies = if tool.wrap == Some(true) { Lies::Wrapped } else { Lies::Flat };
            return Some(Relief {
                outline,
                spin: 0.0,
                height,
                bearing: bearing?,
                lies,
                depth,
                letters,
                line,
            });
        };
        let (lo, hi) = outline.bounds()?;
        let middle = (lo + hi) / 2.0;
        Some(Relief {
            outline: outline.placed(0.0, -middle),
            spin: 0.0,
            height: middle.y,
            bearing: Drawn::bearing(side),
            lies: Lies::Drawn(Drawn { side, across: middle.x }),
            depth,
            letters,
            line,
        })
    }

    /// What lies on the top has no place on the side.
    fn refuse_beside_top(&mut self, tool: &schema::OutlineTool, field: &FieldPath) -> Option<()> {
        let placed = [
            ("height", tool.height.is_some()),
            ("bearing", tool.bearing.is_some()),
            ("wrap", tool.wrap.is_some()),
            ("as_drawn", tool.as_drawn.is_some()),
        ];
        let Some((key, _)) = placed.iter().find(|(_, given)| *given) else { return Some(()) };
        self.refuse(
            field.key(key),
            format!("`{key}` and `top` cannot both be given"),
            "an outline lies on the top or on the side: take one of them out",
        );
        None
    }

    /// The outline of a detail: about its middle where it is drawn, as its coordinates say where it is typed.
    fn detail_path(&mut self, outline: &schema::Outline, at: &FieldPath) -> Option<BezPath> {
        outline::to_path(outline, self.unit, Placement::Centred, at, self.files, &mut self.problems)
    }

    /// The outline from where the centre line of the shape stands on the board.
    fn path_as_drawn(
        &mut self,
        tool: &schema::OutlineTool,
        side: Side,
        field: &FieldPath,
    ) -> Option<BezPath> {
        let placed = [
            ("height", tool.height.is_some()),
            ("bearing", tool.bearing.is_some()),
            ("turn", tool.turn.is_some()),
            ("wrap", tool.wrap.is_some()),
        ];
        if let Some((key, _)) = placed.iter().find(|(_, given)| *given) {
            self.refuse(
                field.key(key),
                format!("`{key}` and `as_drawn` cannot both be given"),
                "an outline that lies as drawn goes straight in where it is drawn: take one of them out",
            );
            return None;
        }
        let at = field.key("shape");
        if tool.shape.picture.is_some() {
            self.refuse(
                at.key("picture"),
                "a picture does not say where on the shape its outline lies",
                "give `height` and `bearing` instead of `as_drawn`, or trace the picture into the shape's own drawing",
            );
            return None;
        }
        if tool.shape.text.is_some() {
            self.refuse(
                at.key("text"),
                "words do not say where on the shape they lie",
                "give `height` and `bearing` instead of `as_drawn`",
            );
            return None;
        }
        if tool.shape.svg.is_none() {
            // Typed coordinates are taken as they are.
            return self.detail_path(&tool.shape, &at);
        }
        let root = FieldPath::root().key("shape");
        let seen_from_front = matches!(side, Side::Front | Side::Back);
        let (on, on_field) = match (&self.shape.turned, &self.shape.crossed) {
            (Some(turned), _) => (DrawnOn::Turned(turned), root.key("turned")),
            (None, Some(crossed)) if seen_from_front => {
                (DrawnOn::Silhouette(&crossed.front, View::Upright), root.key("crossed").key("front"))
            }
            (None, Some(crossed)) => {
                (DrawnOn::Silhouette(&crossed.side, View::Upright), root.key("crossed").key("side"))
            }
            _ => {
                self.refuse(
                    field.key("as_drawn"),
                    "the shape has no outline that a detail could be drawn on",
                    "give `height` and `bearing` instead",
                );
                return None;
            }
        };
        let (unit, files) = (self.unit, self.files);
        outline::to_path_as_drawn(&tool.shape, on, unit, &at, &on_field, files, &mut self.problems)
    }

    /// The line of this width along an outline.
    fn line_along(&mut self, path: &BezPath, width: f64, at: &FieldPath) -> Option<Region> {
        let lines = outline::lines_along(path, Tolerance::TOOL);
        if lines.is_empty() {
            self.refuse(
                at.clone(),
                "the line has no length",
                "give at least two points that do not lie in one place",
            );
            return None;
        }
        if width < NARROWEST_LINE {
            let style = self.style;
            self.refuse(
                at.key("stroke"),
                format!(
                    "a line {} wide is narrower than any that is laid or pressed",
                    style.length_fine(width)
                ),
                format!("make it {} wide or more", style.length_fine(NARROWEST_LINE)),
            );
            return None;
        }
        let (round, open): (Vec<_>, Vec<_>) =
            lines.iter().cloned().partition(|line| region::comes_back(line));
        let inside = Region::even_odd(round);
        let fills = inside.area() > LEAST_AREA && inside.inset(width / 2.0, Tolerance::TOOL).is_empty();
        let length = |line: &Vec<DVec2>| line.windows(2).map(|pair| pair[0].distance(pair[1])).sum::<f64>();
        if fills || open.iter().any(|line| length(line) < width) {
            let what = if fills {
                "the line is so wide that nothing is left open inside the outline"
            } else {
                "the line is wider than it is long"
            };
            self.problems.push(
                Diagnostic::warning(at.key("stroke"), what)
                    .fix("make it narrower, or take `stroke` out for all that the outline holds"),
            );
        }
        Some(Region::along(&lines, width, Tolerance::TOOL))
    }

    /// What an outline holds.
    fn filled(&mut self, path: &BezPath, at: &FieldPath) -> Option<Region> {
        let contours = outline::flattened(path, Tolerance::TOOL);
        if contours.iter().any(|contour| crosses_itself(contour)) {
            self.problems.push(
                Diagnostic::warning(
                    at.clone(),
                    "the outline crosses itself, and what lies inside twice is left out",
                )
                .fix("draw it round once, or give its parts as paths of their own"),
            );
        }
        let outline = Region::even_odd(contours);
        if outline.area() < LEAST_AREA {
            self.refuse(
                at.clone(),
                "the outline encloses nothing",
                "give at least three points that do not lie on one line",
            );
            return None;
        }
        Some(outline)
    }
}

/// Whether a closed contour crosses itself: run round once, it holds as much by the even-odd rule as by the
/// shoelace formula.
fn crosses_itself(contour: &[DVec2]) -> bool {
    /// Less than this is rounding, mm².
    const ROUNDING: f64 = 1e-3;
    let inside = Region::even_odd(vec![contour.to_vec()]).area();
    (inside - region::signed_area(contour).abs()).abs() > ROUNDING
}
