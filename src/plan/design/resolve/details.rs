//! Cuts and adds, each with what it is made of.

use super::{Resolver, read_problem};
use crate::design::{Depth, Material, MaterialKind, Operation, Trim};
use cakefile::{FieldPath, exactly_one, schema};

impl Resolver<'_> {
    pub(super) fn trim(&mut self, trim: &schema::Trim, _: usize, field: &FieldPath) -> Option<Trim> {
        let given = [("cut", trim.cut.is_some()), ("add", trim.add.is_some())];
        let operation = match read_problem(exactly_one(&given, field), &mut self.problems) {
            Some("cut") => Some(Operation::Cut),
            Some(_) => Some(Operation::Add),
            None => None,
        };
        let tool = self.tool(trim, operation, field);
        let colour = self.maybe(trim.colour.as_ref(), |s, c| s.colour(c, field.key("colour")));
        let depth = trim.cut.or(trim.add)?;
        let material = match operation? {
            Operation::Cut => {
                if trim.material.is_some() {
                    self.refuse(
                        field.key("material"),
                        "a cut has no material",
                        "leave `material` out, or make it an add",
                    );
                }
                Some(None)
            }
            Operation::Add => self.add_material(trim, depth, field).map(Some),
        };
        let colour = colour?;
        let material = material?.map(|m| Material { colour: colour.unwrap_or(m.colour), ..m });
        Some(Trim {
            name: trim.name.clone(),
            operation: operation?,
            depth,
            material,
            colour,
            tool: tool?,
            field: field.clone(),
        })
    }

    fn add_material(&mut self, trim: &schema::Trim, depth: Depth, field: &FieldPath) -> Option<Material> {
        use MaterialKind::{Coating, Filling, Firm, Paste, Sponge};
        let (default, kinds): (&str, &[MaterialKind]) = match depth {
            Depth::Sponge => ("sponge", &[Sponge, Firm]),
            Depth::Coating => ("ganache", &[Coating, Filling, Paste, Firm]),
            Depth::Icing => ("sugar paste", &[Paste, Coating, Firm]),
        };
        self.material(trim.material.as_deref().unwrap_or(default), kinds, field.key("material"))
    }
}
