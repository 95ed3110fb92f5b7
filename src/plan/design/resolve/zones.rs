//! Zones of a covering as written → parts of it, and what is laid over it as adds on the icing.

use glam::dvec2;

use super::{Resolver, read_problem};
use crate::design::{
    Covering, Depth, Detail, Lies, Material, MaterialKind, Operation, Relief, Shape, Tool, Zone, ZonePlace,
};
use cakefile::{Diagnostic, FieldPath, exactly_one, schema};
use geom::Region;

/// Zones of one covering: parts of it, and what is laid over it.
#[derive(Default)]
pub(super) struct Zones {
    pub parts: Vec<Zone>,
    pub over: Vec<Detail>,
}

impl Resolver<'_> {
    /// The zones of `covering`, which is the outermost if it is the first; `shape` is that of the cake.
    pub(super) fn zones(
        &mut self,
        written: &schema::Covering,
        covering: &Covering,
        (index, shape): (usize, Option<&Shape>),
    ) -> Option<Zones> {
        let mut zones = Zones::default();
        let mut sound = true;
        for (i, zone) in written.zones.iter().enumerate() {
            let field = covering.field.key("zone").index(i);
            if written.zones[..i].iter().any(|before| before.name == zone.name) {
                self.refuse(
                    field.key("name"),
                    format!("two zones are called \"{}\"", zone.name),
                    "give one another name",
                );
            }
            sound &= self.zone(zone, covering, (index, shape), &field, &mut zones).is_some();
        }
        sound.then_some(zones)
    }

    fn zone(
        &mut self,
        zone: &schema::Zone,
        covering: &Covering,
        (index, shape): (usize, Option<&Shape>),
        field: &FieldPath,
        zones: &mut Zones,
    ) -> Option<()> {
        let given = [
            ("top", zone.top == Some(true)),
            ("side", zone.side == Some(true)),
            ("between", zone.between.is_some()),
            ("outline", zone.outline.is_some()),
        ];
        let kind = read_problem(exactly_one(&given, field), &mut self.problems);
        let material = self.zone_material(zone, covering, field);
        let seam = match &zone.seam {
            None => Some(covering.seam),
            Some(seam) => self.angle(Some(seam), field.key("seam")).map(|seam| seam.rem_euclid(360.0)),
        };
        if zone.seam.is_some() && (zone.top == Some(true) || zone.outline.is_some()) {
            self.problems.push(
                Diagnostic::warning(
                    field.key("seam"),
                    "`seam` has no meaning here: nothing is wrapped round",
                )
                .fix("take `seam` out, or give it to a zone that goes round the cake"),
            );
        }
        let thickness = self.maybe(zone.thickness.as_ref(), |s, t| s.size(t, field.key("thickness")));
        if kind.is_none() {
            self.zones.push((zone.name.clone(), None));
        }
        let place = match kind? {
            "top" | "side" if shape.is_some_and(|shape| shape.form().is_some()) => {
                self.refuse(
                    field.key(kind?),
                    format!("the {} of a shape that is not turned has no edge of its own", kind?),
                    "say between which heights the zone lies: between = [lower, upper]",
                );
                None
            }
            "top" => Some(ZonePlace::Top),
            "side" => Some(ZonePlace::Side),
            "between" => self.band(zone.between.as_ref()?, &field.key("between")),
            _ => self.zone_outline(zone.outline.as_ref()?, covering.thickness, &field.key("outline")),
        };
        self.zones.push((zone.name.clone(), place.clone()));
        let finishes = self.finishes(&zone.finish, field);
        let (place, material, seam, finishes) = (place?, material?, seam?, finishes?);
        match thickness? {
            None => zones.parts.push(Zone {
                name: zone.name.clone(),
                place,
                material,
                is_of_its_own: zone.colour.is_some() || zone.material.is_some(),
                seam,
                finishes,
                field: field.clone(),
            }),
            Some(thickness) => {
                let tool = self.laid_over(place, thickness, (index, shape), field)?;
                zones.over.push(Detail {
                    name: zone.name.clone(),
                    operation: Operation::Add,
                    depth: Depth::Icing,
                    colour: Some(material.colour),
                    material: Some(material),
                    finishes,
                    tool,
                    copy: None,
                    field: field.clone(),
                });
            }
        }
        Some(())
    }

    /// What a zone is made of, in its own colour: rolled like the covering, or spread like it.
    fn zone_material(
        &mut self,
        zone: &schema::Zone,
        covering: &Covering,
        field: &FieldPath,
    ) -> Option<Material> {
        use MaterialKind::{Coating, Filling, Paste};
        let rolled = covering.material.kind == Paste;
        let kinds: &[MaterialKind] = if rolled { &[Paste] } else { &[Coating, Filling] };
        let material = match &zone.material {
            Some(name) => self.material(name, kinds, field.key("material")),
            None => Some(covering.material.clone()),
        };
        let colour = self.maybe(zone.colour.as_ref(), |s, c| s.colour(c, field.key("colour")));
        let mut material = material?;
        material.colour = colour?.unwrap_or(material.colour);
        Some(material)
    }

    fn band(&mut self, heights: &[schema::Length; 2], field: &FieldPath) -> Option<ZonePlace> {
        let low = self.length(&heights[0], field.index(0));
        let high = self.length(&heights[1], field.index(1));
        let (low, high) = (low?, high?);
        if low >= high {
            self.refuse(
                field.clone(),
                "the zone has no height: it ends where it begins, or below",
                "give the lower height first",
            );
            return None;
        }
        Some(ZonePlace::Between(low, high))
    }

    fn zone_outline(
        &mut self,
        outline: &schema::ZoneOutline,
        thickness: f64,
        field: &FieldPath,
    ) -> Option<ZonePlace> {
        let tool = schema::OutlineTool {
            shape: outline.shape.clone(),
            height: outline.height.clone(),
            as_drawn: None,
            top: outline.top.clone(),
            bearing: outline.bearing.clone(),
            turn: outline.turn.clone(),
            depth: schema::Size::from(1.0),
            wrap: outline.wrap,
        };
        self.relief(&tool, field).map(|relief| ZonePlace::Outline(Relief { depth: thickness, ..relief }))
    }

    /// The form of a zone that stands out over the covering.
    fn laid_over(
        &mut self,
        place: ZonePlace,
        thickness: f64,
        (index, shape): (usize, Option<&Shape>),
        field: &FieldPath,
    ) -> Option<Tool> {
        /// Longer than once round, so that the strip meets itself.
        const ROUND: f64 = 1.05;
        let at = field.key("thickness");
        if index > 0 {
            self.refuse(
                at,
                "only on the outermost covering can a zone be laid over it",
                "take `thickness` out, or move the zone",
            );
            return None;
        }
        match place {
            ZonePlace::Outline(relief) => Some(Tool::Relief(Relief { depth: thickness, ..relief })),
            ZonePlace::Between(low, high) => {
                let half = dvec2(std::f64::consts::PI * shape?.radius() * ROUND, (high - low) / 2.0);
                Some(Tool::Relief(Relief {
                    outline: Region::rectangle(-half, half),
                    spin: 0.0,
                    height: f64::midpoint(low, high),
                    bearing: 0.0,
                    lies: Lies::Wrapped,
                    depth: thickness,
                    letters: None,
                    line: None,
                }))
            }
            ZonePlace::Top | ZonePlace::Side => {
                self.refuse(
                    at,
                    "the whole top or side is not laid over the covering",
                    "take `thickness` out, or give `between`, or an `outline` on the top: { shape = { circle = ... }, top = [0, 0] }",
                );
                None
            }
        }
    }
}
