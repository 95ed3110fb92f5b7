//! Tiers, their layers and what lies between them.

use super::{Resolver, read_problem};
use crate::design::{Filling, FootprintShape, Layer, MaterialKind, Tier};
use cakefile::{Diagnostic, FieldPath, exactly_one, schema};

impl Resolver<'_> {
    /// Refuses a cake without layers, and a tier without any in a cake that has some.
    pub(super) fn refuse_no_layers(&mut self, tiers: &[schema::Tier]) {
        let tier = FieldPath::root().key("tier");
        if tiers.iter().all(|tier| tier.layers.is_empty()) {
            let fix = "let `crumbline stack CAKE --out FILE` find them, or add a tier: [[tier]] with a name and \
                       [[tier.layer]] entries, each with a pan and a height";
            let problem = Diagnostic::error(tier, "the cake has no layers").fix(fix);
            self.problems.push(problem.absent("layer"));
            return;
        }
        for (index, empty) in tiers.iter().enumerate().filter(|(_, tier)| tier.layers.is_empty()) {
            let message = format!("the tier \"{}\" has no layers", empty.name);
            let problem = Diagnostic::error(tier.index(index), message);
            self.problems.push(problem.fix("add a [[tier.layer]] with a pan and a height").absent("layer"));
        }
    }

    pub(super) fn tier(&mut self, tier: &schema::Tier, _: usize, field: &FieldPath) -> Option<Tier> {
        let board = self.maybe(tier.board.as_ref(), |s, b| s.tier_board(b, &field.key("board")));
        let dowels = self.maybe(tier.dowels.as_ref(), |s, d| s.dowels(d, &field.key("dowels")));
        let filling = self.maybe(tier.filling.as_ref(), |s, f| s.filling(f, &field.key("filling")));
        let count = tier.layers.len();
        let layers: Vec<Option<Layer>> = (0..count)
            .map(|i| {
                let mut layer = self.layer(&tier.layers[i], tier, i, &field.key("layer").index(i))?;
                if layer.filling.is_none() && i + 1 < count {
                    layer.filling = filling.clone().flatten();
                }
                Some(layer)
            })
            .collect();
        Some(Tier {
            name: tier.name.clone(),
            board: board?,
            dowels: dowels?,
            layers: layers.into_iter().collect::<Option<_>>()?,
            field: field.clone(),
        })
    }

    fn layer(
        &mut self,
        layer: &schema::Layer,
        tier: &schema::Tier,
        i: usize,
        field: &FieldPath,
    ) -> Option<Layer> {
        use MaterialKind::{Dummy, Firm, Sponge};
        let pan = &layer.pan;
        let at = field.key("pan");
        let given = [
            ("round", pan.round.is_some()),
            ("square", pan.square.is_some()),
            ("rectangle", pan.rectangle.is_some()),
            ("half_ball", pan.half_ball.is_some()),
        ];
        let kind = read_problem(exactly_one(&given, &at), &mut self.problems);
        let half_ball = kind == Some("half_ball");
        if pan.dome.is_some() && !half_ball {
            self.refuse(at.key("dome"), "only a half-ball has a dome", "leave `dome` out");
        }
        let shape = if half_ball {
            let diameter = pan.half_ball.as_ref().and_then(|d| self.size(d, at.key("half_ball")));
            diameter.map(|diameter| FootprintShape::Round { diameter })
        } else {
            let sizes = (pan.round.as_ref(), pan.square.as_ref(), pan.rectangle.as_ref());
            kind.and_then(|_| self.plain_shape(sizes, &at))
        };
        let shape = self
            .maybe(Some(&layer.pieces).filter(|pieces| !pieces.is_empty()), |s, pieces| {
                s.pieces(pieces, shape.as_ref()?, half_ball, field)
            })
            .and_then(|pieces| pieces.or(shape));
        let footprint = self.footprint(shape, layer.offset.as_ref(), layer.turn.as_ref(), field);
        let height = self.size(&layer.height, field.key("height"));
        let name = layer.material.as_deref().unwrap_or("sponge");
        let material = self.material(name, &[Sponge, Firm, Dummy], field.key("material"));
        let bottom = self.maybe(layer.bottom.as_ref(), |s, b| s.length(b, field.key("bottom")));
        let filling = self.maybe(layer.filling.as_ref(), |s, f| s.filling(f, &field.key("filling")));
        let (footprint, mut height) = (footprint?, height?);
        if let (true, &FootprintShape::Round { diameter }) = (half_ball, &footprint.shape) {
            let (style, highest) = (self.style, diameter / 2.0);
            let mm = |mm: f64| style.length_fine(mm);
            if style.is_above(height, highest) {
                self.refuse(
                    field.key("height"),
                    format!(
                        "a half-ball of {} is at most {} high, not {}",
                        mm(diameter),
                        mm(highest),
                        mm(height)
                    ),
                    "give the levelled height, at most half the diameter",
                );
                return None;
            }
            // Half of the one as it was rounded for the other.
            height = height.min(highest);
        }
        Some(Layer {
            name: layer.name.clone().unwrap_or_else(|| format!("{} {}", tier.name, i + 1)),
            footprint,
            dome: half_ball.then(|| pan.dome.unwrap_or_default()),
            height,
            material: material?,
            bottom: bottom?,
            filling: filling?,
            field: field.clone(),
        })
    }

    fn filling(&mut self, filling: &schema::Filling, field: &FieldPath) -> Option<Filling> {
        use MaterialKind::{Coating, Filling as Soft, Paste};
        let material = self.material(&filling.material, &[Soft, Coating, Paste], field.key("material"));
        let thickness = self.size(&filling.thickness, field.key("thickness"));
        Some(Filling { material: material?, thickness: thickness?, field: field.clone() })
    }
}
