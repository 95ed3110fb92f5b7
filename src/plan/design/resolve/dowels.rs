//! Dowels of a tier and the centre dowel.

use glam::DVec2;

use super::{Resolver, read_problem};
use crate::design::{Board, CentreDowel, Dowels, Material, MaterialKind};
use cakefile::{
    FieldPath, exactly_one,
    schema::{self, Size},
};

/// Most dowels round one circle; beyond it the file is a mistake.
const MOST_DOWELS: u32 = 200;

impl Resolver<'_> {
    pub(super) fn dowels(&mut self, dowels: &schema::Dowels, field: &FieldPath) -> Option<Dowels> {
        let diameter = self.size(&dowels.diameter, field.key("diameter"));
        let turn = self.angle(dowels.turn.as_ref(), field.key("turn"));
        let name = dowels.material.as_deref().unwrap_or("wooden dowel");
        let material = self.material(name, &[MaterialKind::Dowel], field.key("material"));
        let length = self.maybe(dowels.length.as_ref(), |s, l| s.size(l, field.key("length")));
        let given = [("circle", dowels.circle.is_some()), ("at", dowels.at.is_some())];
        let kind = read_problem(exactly_one(&given, field), &mut self.problems)?;
        let at: Vec<DVec2> = if kind == "circle" {
            let circle = self.size(dowels.circle.as_ref()?, field.key("circle"))?;
            let count = dowels.count.unwrap_or(0);
            if count == 0 || count > MOST_DOWELS {
                self.refuse(
                    field.clone(),
                    "how many dowels stand round the circle?",
                    format!("add count = 4, or another number up to {MOST_DOWELS}"),
                );
                return None;
            }
            let turn = turn?;
            let bearing = |i: u32| turn + 360.0 * f64::from(i) / f64::from(count);
            (0..count).map(|i| geom::revolve::at_bearing(circle / 2.0, 0.0, bearing(i)).truncate()).collect()
        } else {
            let at = field.key("at");
            let given = dowels.at.as_ref()?;
            if dowels.count.is_some_and(|count| count as usize != given.len()) {
                self.refuse(
                    field.key("count"),
                    format!("`at` places {} dowels", given.len()),
                    "leave `count` out",
                );
            }
            let points: Vec<Option<DVec2>> =
                given.iter().enumerate().map(|(i, p)| self.point2(p, &at.index(i))).collect();
            points.into_iter().collect::<Option<_>>()?
        };
        let (length, material) = (length?, material?);
        let wall = self.wall(dowels.wall.as_ref(), diameter?, &material, field)?;
        Some(Dowels { at, diameter: diameter?, wall, length, material, field: field.clone() })
    }

    pub(super) fn centre_dowel(
        &mut self,
        dowel: &schema::CentreDowel,
        board: Option<&Board>,
        field: &FieldPath,
    ) -> Option<CentreDowel> {
        let diameter = self.size(&dowel.diameter, field.key("diameter"));
        let height = self.size(&dowel.height, field.key("height"));
        let name = dowel.material.as_deref().unwrap_or("wooden dowel");
        let material = self.material(name, &[MaterialKind::Dowel], field.key("material"));
        let (diameter, material) = (diameter?, material?);
        let wall = self.wall(dowel.wall.as_ref(), diameter, &material, field)?;
        let fast = dowel.fast.unwrap_or_else(|| board.is_some_and(Board::holds_screw));
        Some(CentreDowel { diameter, wall, height: height?, fast, material, field: field.clone() })
    }

    /// Thickness of a dowel's wall; that of its material if none is given.
    fn wall(
        &mut self,
        given: Option<&Size>,
        diameter: f64,
        material: &Material,
        field: &FieldPath,
    ) -> Option<Option<f64>> {
        let own = material.dowel_stuff().and_then(|stuff| stuff.wall);
        let wall = self.maybe(given, |s, wall| s.size(wall, field.key("wall")))?;
        if wall.is_some_and(|wall| 2.0 * wall >= diameter) {
            self.refuse(
                field.key("wall"),
                "the wall is as thick as the dowel",
                "leave `wall` out for a solid dowel",
            );
            return None;
        }
        Some(wall.or(own).filter(|wall| 2.0 * wall < diameter))
    }
}
