//! Cuts and adds, each with what it is made of.

use super::{Resolver, read_problem};
use crate::design::{Depth, Detail, Finish, Material, MaterialKind, Operation};
use cakefile::{FieldPath, exactly_one, schema};

impl Resolver<'_> {
    pub(super) fn detail(
        &mut self,
        detail: &schema::Detail,
        _: usize,
        field: &FieldPath,
    ) -> Option<Vec<Detail>> {
        let given = [("cut", detail.cut.is_some()), ("add", detail.add.is_some())];
        let operation = match read_problem(exactly_one(&given, field), &mut self.problems) {
            Some("cut") => Some(Operation::Cut),
            Some(_) => Some(Operation::Add),
            None => None,
        };
        let tool = self.tool(detail, operation, field);
        let colour = self.maybe(detail.colour.as_ref(), |s, c| s.colour(c, field.key("colour")));
        let depth = detail.cut.or(detail.add)?;
        let material = match operation? {
            Operation::Cut => {
                if detail.material.is_some() {
                    self.refuse(
                        field.key("material"),
                        "a cut has no material",
                        "leave `material` out, or make it an add",
                    );
                }
                Some(None)
            }
            Operation::Add => self.add_material(detail, depth, field).map(Some),
        };
        let colour = colour?;
        let finishes = self.detail_finishes(detail, operation?, depth, field);
        let material = material?.map(|m| Material { colour: colour.unwrap_or(m.colour), ..m });
        let once = Detail {
            name: detail.name.clone(),
            operation: operation?,
            depth,
            material,
            colour,
            finishes: finishes?,
            tool: tool?,
            copy: None,
            field: field.clone(),
        };
        self.copies(once, detail, field)
    }

    /// What is put on a detail. Nobody sees what is under the icing, and of a cut only an outline has a bottom of its own.
    fn detail_finishes(
        &mut self,
        detail: &schema::Detail,
        operation: Operation,
        depth: Depth,
        field: &FieldPath,
    ) -> Option<Vec<Finish>> {
        let unseen = match operation {
            Operation::Add if depth != Depth::Icing => Some("the coverings lie over it"),
            Operation::Cut if detail.outline.is_none() => Some("what is cut away shows the covering"),
            _ => None,
        };
        let finishes = self.finishes(&detail.finish, field);
        match unseen {
            Some(why) => {
                let fix = "give it to the covering, or to a zone of it";
                self.unseen_finish(&detail.finish, field, why, fix);
                finishes.map(|_| Vec::new())
            }
            None => finishes,
        }
    }

    fn add_material(&mut self, detail: &schema::Detail, depth: Depth, field: &FieldPath) -> Option<Material> {
        use MaterialKind::{Coating, Filling, Firm, Paste, Sponge};
        let (default, kinds): (&str, &[MaterialKind]) = match depth {
            // Nothing that is spread or piped can be rolled by hand.
            _ if detail.roll.is_some() => ("sugar paste", &[Paste, Firm]),
            Depth::Sponge => ("sponge", &[Sponge, Firm]),
            Depth::Coating => ("ganache", &[Coating, Filling, Paste, Firm]),
            Depth::Icing => ("sugar paste", &[Paste, Coating, Firm]),
        };
        self.material(detail.material.as_deref().unwrap_or(default), kinds, field.key("material"))
    }
}
