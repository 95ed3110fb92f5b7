//! The materials of a model, and the MTL file that holds them.

use std::io::{self, Write};

use super::names::Names;
use crate::{
    model::{Model, Part, Rgb},
    tint::{Seen, seen},
};

/// Every material of a model that looks different, with a name for each.
#[derive(Debug)]
pub struct Materials {
    listed: Vec<Listed>,
}

#[derive(Debug)]
struct Listed {
    material: String,
    seen: Seen,
    name: String,
}

impl Materials {
    /// The materials of `model`, in the order of its parts. A material in two colours is two.
    pub fn of(model: &Model) -> Self {
        let mut names = Names::default();
        let mut materials = Self { listed: Vec::new() };
        for part in &model.parts {
            if materials.find(part).is_none() {
                let name = names.unique(&part.material, "material");
                let (material, seen) = (part.material.clone(), seen(part));
                materials.listed.push(Listed { material, seen, name });
            }
        }
        materials
    }

    /// The name in the MTL file of the material of `part`; empty if the part is of another model.
    pub(super) fn name_for(&self, part: &Part) -> &str {
        self.find(part).map_or("", |listed| &listed.name)
    }

    fn find(&self, part: &Part) -> Option<&Listed> {
        let seen = seen(part);
        self.listed.iter().find(|l| l.seen == seen && l.material == part.material)
    }

    /// Writes the MTL file (Wavefront MTL specification 4.2, from memory): colours in sRGB, opaque; what
    /// mirrors like metal has a highlight in its colour, nothing else has one.
    ///
    /// # Errors
    /// When `writer` fails.
    pub fn write(&self, writer: &mut dyn Write) -> io::Result<()> {
        writeln!(writer, "# colours are sRGB, 0 to 1")?;
        for Listed { name, seen, .. } in &self.listed {
            let Rgb(r, g, b) = seen.stored();
            let [r, g, b] = [r, g, b].map(|part| f64::from(part) / 255.0);
            writeln!(writer, "newmtl {name}")?;
            writeln!(writer, "Ka 0 0 0")?;
            writeln!(writer, "Kd {r:.4} {g:.4} {b:.4}")?;
            if seen.metal > 0.0 {
                let [r, g, b] = [r, g, b].map(|part| part * seen.metal);
                writeln!(writer, "Ks {r:.4} {g:.4} {b:.4}")?;
                writeln!(writer, "Ns 60")?;
            } else {
                writeln!(writer, "Ks 0 0 0")?;
            }
            writeln!(writer, "d 1")?;
            writeln!(writer, "illum {}", if seen.metal > 0.0 { 2 } else { 1 })?;
        }
        Ok(())
    }
}
