//! A client's model as written → a [`Shape`] that stands on the board.

use glam::DVec3;

use crate::outline::Reading;
use cakefile::world::Content;
use cakefile::{
    Diagnostic,
    schema::{self, ModelUnit, Size},
};
use formats::scan::{self, Model, Placing, RepairOptions, Scale, ScanError, place};
use geom::Cancel;

use super::{Form, Shape};

/// Resolves a model.
pub(super) fn resolve(given: &schema::Scanned, reading: Reading<'_>, cancel: &Cancel) -> Option<Shape> {
    let mut reader = Reader(reading);
    let (placing, fixing) = (reader.placing(given), reader.fixing(given));
    let model = reader.model(&given.file)?;
    let placing = placing?;
    let placed = placing.of(&model).map_err(|error| reader.refuse(&given.file, &error)).ok()?;
    let repaired = scan::try_repaired(&placed, &fixing?, cancel);
    let repaired = repaired.map_err(|error| reader.refuse(&given.file, &error)).ok()?;
    reader.tell(&given.file, model.notes.iter().chain(&repaired.notes), repaired.floating());
    let form = Form::new(repaired.mesh);
    reader.tell_undercut(&given.file, &form);
    Some(Shape::Free(form))
}

struct Reader<'a>(Reading<'a>);

impl Reader<'_> {
    fn placing(&mut self, given: &schema::Scanned) -> Option<Placing> {
        let height = self.size(given.height.as_ref(), "height");
        let sink = self.size(given.cut_bottom.as_ref(), "cut_bottom");
        let turn = self.0.value(given.turn.as_ref().map(schema::Angle::to_degrees), "turn");
        if given.height.is_some() && given.unit.is_some() {
            return self.0.refuse(
                "unit",
                "`height` and `unit` cannot both be given",
                "take one out: the height decides how large a unit becomes",
            );
        }
        let scale = match (height?, given.unit) {
            (Some(height), _) => Scale::Height(height),
            (None, Some(unit)) => Scale::Unit(in_mm(unit)),
            (None, None) => Scale::OfFormat,
        };
        let centre = given.centre.unwrap_or_default();
        Some(Placing {
            up: given.up,
            front: given.front,
            turn: turn?.unwrap_or(0.0),
            scale,
            sink: sink?.unwrap_or(0.0),
            centre,
        })
    }

    fn fixing(&mut self, given: &schema::Scanned) -> Option<RepairOptions> {
        let usual = RepairOptions::default();
        let weld = self.size(given.close_gaps.as_ref(), "close_gaps");
        let fill = self.size(given.fill.as_ref(), "fill");
        Some(RepairOptions { weld: weld?.unwrap_or(usual.weld), fill: fill?.unwrap_or(usual.fill) })
    }

    fn size(&mut self, size: Option<&Size>, key: &str) -> Option<Option<f64>> {
        let unit = self.0.unit;
        self.0.value(size.map(|size| size.to_mm(unit)), key)
    }

    fn model(&mut self, file: &str) -> Option<Model> {
        let format = scan::Format::of(file).map_err(|error| self.refuse(file, &error)).ok()?;
        let bytes = self.0.load(file, Content::Model)?;
        let folder = file.rfind(['/', '\\']).map_or("", |slash| &file[..=slash]);
        let files = self.0.files;
        let beside = |name: &str| Ok(files.load(&format!("{folder}{name}"), Content::Model)?.bytes.to_vec());
        scan::read(&bytes, format, &beside).map_err(|error| self.refuse(file, &error)).ok()
    }

    fn refuse(&mut self, file: &str, error: &ScanError) {
        let key = match error {
            ScanError::NeedsUnit { .. } | ScanError::NoCakesSize { .. } => "unit",
            ScanError::FrontIsUp => "front",
            ScanError::Flat => "up",
            ScanError::SunkAltogether { .. } | ScanError::NoFoot { .. } => "cut_bottom",
            _ => "file",
        };
        let cause = std::error::Error::source(error).map_or(String::new(), |cause| format!(": {cause}"));
        let problem = Diagnostic::error(self.0.field.key(key), format!("{file}: {error}{cause}"));
        self.0.problems.push(problem.fix(error.fix()));
    }

    /// Tells what was left out and repaired, and what hangs in the air.
    fn tell<'n>(
        &mut self,
        file: &str,
        notes: impl Iterator<Item = &'n String>,
        floating: Vec<(DVec3, String)>,
    ) {
        let field = self.0.field.key("file");
        for note in notes {
            let problem = Diagnostic::note(field.clone(), format!("{file}: {note}"));
            self.0
                .problems
                .push(problem.fix("look at the picture of the finished cake to see that this is right"));
        }
        for (at, part) in floating {
            let problem = Diagnostic::warning(field.clone(), format!("{file}: {part}")).on_cake(at);
            self.0
                .problems
                .push(problem.fix("join it to the rest in a mesh program, or make it an add of its own"));
        }
    }

    /// Tells where no knife gets to.
    fn tell_undercut(&mut self, file: &str, form: &Form) {
        if let Some(undercut) = scan::undercuts(&form.mesh, form.depths()) {
            let message = format!(
                "{file}: no knife reaches {:.1} % of the surface in a straight line from outside, most of it {}",
                100.0 * undercut.share,
                place(undercut.at)
            );
            let fix =
                "leave it solid there and shape it on the bench with a curved tool, or change the model";
            let problem = Diagnostic::warning(self.0.field.key("file"), message).fix(fix);
            self.0.problems.push(problem.on_cake(undercut.at));
        }
    }
}

fn in_mm(unit: ModelUnit) -> f64 {
    match unit {
        ModelUnit::Millimetre => 1.0,
        ModelUnit::Centimetre => 10.0,
        ModelUnit::Metre => 1000.0,
        ModelUnit::Inch => geom::units::MM_PER_INCH,
        ModelUnit::Foot => 12.0 * geom::units::MM_PER_INCH,
    }
}
