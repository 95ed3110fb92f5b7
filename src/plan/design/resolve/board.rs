//! Outlines seen from above, and boards.

use formats::model::Rgb;
use glam::DVec2;

use super::{Resolver, read_problem};
use crate::design::{Board, BoardIcing, Footprint, FootprintShape, MaterialKind, Ribbon};
use cakefile::{
    Diagnostic, FieldPath, exactly_one,
    schema::{self, Angle, Length, Size},
};

impl Resolver<'_> {
    pub(super) fn footprint(
        &mut self,
        shape: Option<FootprintShape>,
        offset: Option<&[Length; 2]>,
        turn: Option<&Angle>,
        field: &FieldPath,
    ) -> Option<Footprint> {
        let centre = match offset {
            None => Some(DVec2::ZERO),
            Some(p) => self.point2(p, &field.key("offset")),
        };
        let turn = self.angle(turn, field.key("turn"));
        Some(Footprint { shape: shape?, centre: centre?, turn: turn? })
    }

    fn rectangle(&mut self, size: &[Size; 2], field: &FieldPath) -> Option<FootprintShape> {
        let width = self.size(&size[0], field.index(0));
        let depth = self.size(&size[1], field.index(1));
        Some(FootprintShape::Rectangle { width: width?, depth: depth? })
    }

    pub(super) fn plain_shape(
        &mut self,
        (round, square, rectangle): (Option<&Size>, Option<&Size>, Option<&[Size; 2]>),
        field: &FieldPath,
    ) -> Option<FootprintShape> {
        if let Some(round) = round {
            return self.size(round, field.key("round")).map(|diameter| FootprintShape::Round { diameter });
        }
        if let Some(square) = square {
            let side = self.size(square, field.key("square"))?;
            return Some(FootprintShape::Rectangle { width: side, depth: side });
        }
        self.rectangle(rectangle?, &field.key("rectangle"))
    }

    pub(super) fn board(&mut self, board: &schema::Board, field: &FieldPath) -> Option<Board> {
        let given = [
            ("round", board.round.is_some()),
            ("square", board.square.is_some()),
            ("rectangle", board.rectangle.is_some()),
        ];
        let kind = read_problem(exactly_one(&given, field), &mut self.problems);
        let sizes = (board.round.as_ref(), board.square.as_ref(), board.rectangle.as_ref());
        let shape = kind.and_then(|_| self.plain_shape(sizes, field));
        let footprint = self.footprint(shape, board.offset.as_ref(), board.turn.as_ref(), field);
        let thickness = self.size(&board.thickness, field.key("thickness"));
        let hole = self.maybe(board.hole.as_ref(), |s, h| s.size(h, field.key("hole")));
        let name = board.material.as_deref().unwrap_or("card board");
        let material = self.material(name, &[MaterialKind::Board], field.key("material"));
        let icing = self.maybe(board.icing.as_ref(), |s, icing| s.board_icing(icing, &field.key("icing")));
        let ribbon = self.maybe(board.ribbon.as_ref(), |s, ribbon| s.ribbon(ribbon, &field.key("ribbon")));
        let board = Board {
            footprint: footprint?,
            thickness: thickness?,
            hole: hole?.unwrap_or(0.0),
            material: material?,
            icing: icing?,
            ribbon: ribbon?,
            field: field.clone(),
        };
        let [width, depth] = board.footprint.shape.size();
        let narrowest = width.min(depth);
        if board.hole >= narrowest {
            self.refuse(
                field.key("hole"),
                "the hole is as wide as the board",
                "make the hole just wider than the centre dowel",
            );
            return None;
        }
        Some(board)
    }

    /// The presentation board, with what it is dressed with.
    pub(super) fn presentation_board(&mut self, board: &schema::Board, field: &FieldPath) -> Option<Board> {
        /// A ribbon that stands out further is seen, mm.
        const SEEN: f64 = 1.0;
        let board = self.board(board, field)?;
        if let Some(ribbon) = board.ribbon.filter(|ribbon| ribbon.width > board.height() + SEEN) {
            let (width, edge) = (self.style.length(ribbon.width), self.style.length(board.height()));
            let warning = Diagnostic::warning(
                field.key("ribbon").key("width"),
                format!(
                    "the ribbon, {width} wide, stands up over the edge of the board, which is {edge} high"
                ),
            );
            self.problems.push(warning.fix("use a narrower ribbon, a thicker board, or ice the board"));
        }
        Some(board)
    }

    /// A board inside the cake: it is not dressed.
    pub(super) fn tier_board(&mut self, board: &schema::Board, field: &FieldPath) -> Option<Board> {
        for (key, given) in [("icing", board.icing.is_some()), ("ribbon", board.ribbon.is_some())] {
            if given {
                self.refuse(
                    field.key(key),
                    format!("`{key}` belongs to the presentation board: this one is hidden in the cake"),
                    format!("take `{key}` out, or move it to [board]"),
                );
            }
        }
        self.board(board, field)
    }

    fn board_icing(&mut self, icing: &schema::BoardIcing, field: &FieldPath) -> Option<BoardIcing> {
        /// As thick as on the cake (common practice, no source), mm.
        const USUAL: f64 = 3.0;
        let name = icing.material.as_deref().unwrap_or("rolled icing");
        let material = self.material(name, &[MaterialKind::Paste], field.key("material"));
        let colour = self.maybe(icing.colour.as_ref(), |s, c| s.colour(c, field.key("colour")));
        let thickness = self.maybe(icing.thickness.as_ref(), |s, t| s.size(t, field.key("thickness")));
        let mut material = material?;
        material.colour = colour?.unwrap_or(material.colour);
        Some(BoardIcing { material, thickness: thickness?.unwrap_or(USUAL) })
    }

    fn ribbon(&mut self, ribbon: &schema::Ribbon, field: &FieldPath) -> Option<Ribbon> {
        /// Sold for the edge of a drum board of 12 mm with its icing (common practice, no source), mm.
        const USUAL: f64 = 15.0;
        let width = self.maybe(ribbon.width.as_ref(), |s, w| s.size(w, field.key("width")));
        let colour = self.maybe(ribbon.colour.as_ref(), |s, c| s.colour(c, field.key("colour")));
        Some(Ribbon { width: width?.unwrap_or(USUAL), colour: colour?.unwrap_or(Rgb(255, 255, 255)) })
    }
}
