//! Pieces of a sheet cake that are laid side by side as a layer.

use std::sync::Arc;

use glam::DVec2;

use super::Resolver;
use crate::design::{FootprintShape, Piece, Pieces};
use cakefile::{FieldPath, schema};

impl Resolver<'_> {
    /// The pieces of the layer at `field`, which are cut from sheet cakes out of a pan of this shape.
    pub(super) fn pieces(
        &mut self,
        given: &[schema::Piece],
        pan: &FootprintShape,
        half_ball: bool,
        field: &FieldPath,
    ) -> Option<FootprintShape> {
        let at = field.key("pieces");
        let FootprintShape::Rectangle { width, depth } = *pan else {
            let what = if half_ball { "a half-ball" } else { "a round pan" };
            self.refuse(
                field.key("pan"),
                format!("pieces are cut from a sheet cake, and {what} gives none"),
                "give pan = { rectangle = [width, depth] } or { square = side }, or leave `pieces` out",
            );
            return None;
        };
        if given.len() > Pieces::MOST {
            self.refuse(
                at,
                format!("{} pieces are more than a layer can have: {}", given.len(), Pieces::MOST),
                "cut fewer and larger ones",
            );
            return None;
        }
        let read: Vec<Option<Piece>> = given
            .iter()
            .enumerate()
            .map(|(i, piece)| self.piece(piece, [width, depth], &at.index(i)))
            .collect();
        let list = read.into_iter().collect::<Option<Vec<Piece>>>()?;
        let fit = self.refuse_large_pieces(&list, &at);
        let apart = self.refuse_overlaps(&list, &at);
        (fit && apart).then(|| FootprintShape::Pieces(Arc::new(Pieces::new([width, depth], list))))
    }

    fn piece(&mut self, piece: &schema::Piece, pan: [f64; 2], field: &FieldPath) -> Option<Piece> {
        let size = field.key("size");
        let width = self.size(&piece.size[0], size.index(0));
        let depth = self.size(&piece.size[1], size.index(1));
        let at = match &piece.at {
            None => Some(DVec2::ZERO),
            Some(at) => self.point2(at, &field.key("at")),
        };
        let turn = self.angle(piece.turn.as_ref(), field.key("turn"));
        let pan = match &piece.pan {
            None => Some(pan),
            Some(own) => self.sheet_pan(own, &field.key("pan")),
        };
        Some(Piece { width: width?, depth: depth?, at: at?, turn: turn?, pan: pan? })
    }

    /// The size of a pan that gives sheet cakes.
    fn sheet_pan(&mut self, pan: &schema::Pan, at: &FieldPath) -> Option<[f64; 2]> {
        let one = pan.square.is_some() != pan.rectangle.is_some();
        if !one || pan.round.is_some() || pan.half_ball.is_some() || pan.dome.is_some() {
            self.refuse(
                at.clone(),
                "a piece is cut from one sheet cake, which a square or a rectangular pan gives",
                "give pan = { rectangle = [width, depth] } or { square = side }, or leave it out for the pan of the layer",
            );
            return None;
        }
        match self.plain_shape((None, pan.square.as_ref(), pan.rectangle.as_ref()), at)? {
            FootprintShape::Rectangle { width, depth } => Some([width, depth]),
            _ => None,
        }
    }

    fn refuse_large_pieces(&mut self, list: &[Piece], at: &FieldPath) -> bool {
        let style = self.style;
        let mut all_fit = true;
        for (i, piece) in list.iter().enumerate().filter(|(_, piece)| !piece.fits(piece.pan)) {
            all_fit = false;
            self.refuse(
                at.index(i).key("size"),
                format!(
                    "a piece of {} cannot be cut from a sheet cake of {}",
                    style.sides(&[piece.width, piece.depth]),
                    style.sides(&piece.pan)
                ),
                "cut it into two that are laid end to end, or give the layer or the piece a larger pan",
            );
        }
        all_fit
    }

    fn refuse_overlaps(&mut self, list: &[Piece], at: &FieldPath) -> bool {
        let style = self.style;
        let mut apart = true;
        for (i, piece) in list.iter().enumerate() {
            for (j, other) in list.iter().enumerate().take(i) {
                let over = piece.overlap(other);
                if over > Pieces::SLACK {
                    apart = false;
                    self.refuse(
                        at.index(i),
                        format!("this piece and piece {} overlap by {}", j + 1, style.length_fine(over)),
                        "pieces lie side by side: move it by so much, or make one of them as much smaller",
                    );
                }
            }
        }
        apart
    }
}
