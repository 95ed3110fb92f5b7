//! Outlines seen from above, and boards.

use glam::DVec2;

use super::{Resolver, read_problem};
use crate::design::{Board, Footprint, FootprintShape, MaterialKind};
use cakefile::{
    FieldPath, exactly_one,
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
        let board = Board {
            footprint: footprint?,
            thickness: thickness?,
            hole: hole?.unwrap_or(0.0),
            material: material?,
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
}
