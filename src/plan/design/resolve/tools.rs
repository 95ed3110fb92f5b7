//! The forms of cuts and adds.

use glam::{DVec3, dvec3};

use super::{Resolver, read_problem};
use crate::design::{Depth, Operation, Tool};
use cakefile::{FieldPath, exactly_one, schema};
use geom::{Tolerance, sweep};

impl Resolver<'_> {
    pub(super) fn tool(
        &mut self,
        detail: &schema::Detail,
        operation: Option<Operation>,
        field: &FieldPath,
    ) -> Option<Tool> {
        let given = [
            ("box", detail.cuboid.is_some()),
            ("ball", detail.ball.is_some()),
            ("cylinder", detail.cylinder.is_some()),
            ("ring", detail.ring.is_some()),
            ("bar", detail.bar.is_some()),
            ("roll", detail.roll.is_some()),
            ("half_space", detail.half_space.is_some()),
            ("outline", detail.outline.is_some()),
        ];
        let kind = read_problem(exactly_one(&given, field), &mut self.problems)?;
        let at = field.key(kind);
        match kind {
            "box" => self.box_tool(detail.cuboid.as_ref()?, &at),
            "ball" => {
                let ball = detail.ball.as_ref()?;
                let centre = self.point3(&ball.centre, &at.key("centre"));
                let diameter = self.size(&ball.diameter, at.key("diameter"));
                Some(Tool::Ball { centre: centre?, radius: diameter? / 2.0 })
            }
            "cylinder" => self.cylinder_tool(detail.cylinder.as_ref()?, &at),
            "ring" => self.ring_tool(detail.ring.as_ref()?, &at),
            "bar" => self.bar_tool(detail.bar.as_ref()?, &at),
            "roll" => {
                if operation.is_some() && detail.add != Some(Depth::Icing) {
                    self.refuse(
                        at.clone(),
                        "a roll is laid on the icing, when everything else is on the cake",
                        "write add = \"icing\"; for what lies under the icing take a bar or a ring",
                    );
                }
                self.roll_tool(detail.roll.as_ref()?, &at).map(Tool::Roll)
            }
            "half_space" => {
                let half = detail.half_space.as_ref()?;
                if operation == Some(Operation::Add) {
                    self.refuse(
                        at,
                        "a half-space goes on for ever and cannot be added",
                        "use it as a cut, or add a box",
                    );
                    return None;
                }
                let point = self.point3(&half.point, &at.key("point"));
                let normal = self.direction(&half.normal, &at.key("normal"));
                Some(Tool::HalfSpace { point: point?, normal: normal? })
            }
            _ => self.relief(detail.outline.as_ref()?, &at).map(Tool::Relief),
        }
    }

    fn box_tool(&mut self, tool: &schema::BoxTool, field: &FieldPath) -> Option<Tool> {
        let centre = self.point3(&tool.centre, &field.key("centre"));
        let at = field.key("size");
        let [w, d, h] = [0, 1, 2].map(|i| self.size(&tool.size[i], at.index(i)));
        let turn = self.angle(tool.turn.as_ref(), field.key("turn"));
        Some(Tool::Box { centre: centre?, size: dvec3(w?, d?, h?), turn: turn? })
    }

    fn cylinder_tool(&mut self, tool: &schema::CylinderTool, field: &FieldPath) -> Option<Tool> {
        let from = self.point3(&tool.from, &field.key("from"));
        let to = self.point3(&tool.to, &field.key("to"));
        let diameter = self.size(&tool.diameter, field.key("diameter"));
        let end = self.maybe(tool.end_diameter.as_ref(), |s, d| s.length(d, field.key("end_diameter")));
        let (from, to, diameter, end) = (from?, to?, diameter?, end?);
        let end = end.unwrap_or(diameter);
        if end < 0.0 {
            self.refuse(field.key("end_diameter"), "a diameter cannot be below zero", "0 makes a point");
            return None;
        }
        if from.distance(to) < 1e-3 {
            self.refuse(
                field.key("to"),
                "the cylinder has no length: it ends where it begins",
                "move one end",
            );
            return None;
        }
        Some(Tool::Cylinder { from, to, from_radius: diameter / 2.0, to_radius: end / 2.0 })
    }

    fn ring_tool(&mut self, tool: &schema::RingTool, field: &FieldPath) -> Option<Tool> {
        let centre = self.point3(&tool.centre, &field.key("centre"));
        let diameter = self.size(&tool.diameter, field.key("diameter"));
        let thickness = self.size(&tool.thickness, field.key("thickness"));
        let axis = match &tool.axis {
            None => Some(DVec3::Z),
            Some(axis) => self.direction(axis, &field.key("axis")),
        };
        let (diameter, thickness) = (diameter?, thickness?);
        if thickness >= diameter {
            self.refuse(
                field.key("thickness"),
                "the ring has no hole: its bar is as thick as the ring is wide",
                "make it thinner than `diameter`, or use a ball",
            );
            return None;
        }
        Some(Tool::Ring { centre: centre?, axis: axis?, radius: diameter / 2.0, bar_radius: thickness / 2.0 })
    }

    fn bar_tool(&mut self, tool: &schema::BarTool, field: &FieldPath) -> Option<Tool> {
        let at = field.key("path");
        let points: Vec<Option<DVec3>> =
            tool.path.iter().enumerate().map(|(i, p)| self.point3(p, &at.index(i))).collect();
        let diameter = self.size(&tool.diameter, field.key("diameter"));
        let taper = self.maybe(tool.taper.as_ref(), |s, t| s.length(t, field.key("taper")));
        let end = self.maybe(tool.end_diameter.as_ref(), |s, d| s.size(d, field.key("end_diameter")));
        let mut points = points.into_iter().collect::<Option<Vec<DVec3>>>()?;
        points.dedup_by(|a, b| a.distance(*b) < 1e-3);
        if points.len() < 2 {
            self.refuse(
                at,
                "a bar needs a path of at least two different points",
                "use a ball for a single one",
            );
            return None;
        }
        let (diameter, taper, end) = (diameter?, taper?.unwrap_or(0.0), end?);
        let bar = sweep::Bar {
            radius: diameter / 2.0,
            taper: taper.max(0.0),
            end_radius: end.unwrap_or(diameter / 4.0) / 2.0,
        };
        let line = if tool.smooth.unwrap_or(true) { sweep::smooth(&points, Tolerance::TOOL) } else { points };
        Some(Tool::Bar { stations: bar.stations(&line) })
    }
}
