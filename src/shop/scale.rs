//! The shape scaled to a height or into a space, evenly or sideways alone. Coverings, boards and pans stay as they are.

use crate::arrange::{ArrangeError, resolved};
use cakefile::{
    FieldPath, FileKind, Step,
    edit::{Document, Edit, EditError, EditValue, LengthForm},
    schema::Cake,
    world::Content,
};
use geom::{
    Cancel,
    units::{Unit, UnitError},
};
use plan::{Planner, Source, outline::svg};

/// What a shape is scaled for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Goal {
    /// A height of the finished cake without its board, mm.
    Height(f64),
    /// A space that holds the cake on its board: width, depth, height, mm.
    Fit([f64; 3]),
}

/// In which directions a shape grows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grow {
    /// In all of them alike.
    Evenly,
    /// As seen from above: its height stays, and so do the sizes of its details.
    Sideways,
}

/// A cake file whose shape is scaled.
#[derive(Debug, Clone)]
pub struct Scaled {
    /// What makes it of the file as it was; every length keeps the maker's unit and form.
    pub edit: Edit,
    /// The file after that, with the pantry and the files that it names.
    pub source: Source,
    /// By how much.
    pub factor: f64,
    /// In which directions.
    pub grow: Grow,
}

/// Why a shape cannot be scaled so.
#[derive(Debug, thiserror::Error)]
pub enum ScaleError {
    /// The cake cannot be read or arranged.
    #[error(transparent)]
    Arrange(#[from] ArrangeError),
    /// Its height and its width are one size.
    #[error("`{0}` holds one size for all directions, so the shape cannot grow sideways alone")]
    OneSize(FieldPath),
    /// The file does not hold the sizes that would have to change.
    #[error("the size of {what} is not said in the cake file, so it cannot be changed there")]
    Drawn {
        /// The drawing or model.
        what: String,
        /// By how much it would have to be scaled.
        factor: f64,
    },
    /// A length would be longer than any cake's.
    #[error("`{path}`: {error}")]
    Length {
        /// The length.
        path: FieldPath,
        /// What is wrong with it.
        error: UnitError,
    },
    /// The file cannot be edited.
    #[error(transparent)]
    Edit(#[from] EditError),
    /// Nothing of the shape fits.
    #[error("{what}")]
    Impossible {
        /// What keeps it from fitting.
        what: String,
        /// What would let it.
        fix: String,
    },
}

impl ScaleError {
    /// How to fix it.
    pub fn fix(&self) -> String {
        match self {
            Self::Arrange(_) => "fix the cake first".into(),
            Self::Drawn { factor, .. } => {
                format!(
                    "give it a height in the cake file, or scale it to {:.1} % of its size",
                    100.0 * factor
                )
            }
            Self::OneSize(_) => "let it grow evenly (--grow evenly), or give its outline by points".into(),
            Self::Length { .. } => "take a smaller scale, or check that length".into(),
            Self::Edit(error) => error.fix(),
            Self::Impossible { fix, .. } => fix.clone(),
        }
    }
}

impl From<cakefile::CakeFileError> for ScaleError {
    fn from(error: cakefile::CakeFileError) -> Self {
        Self::Arrange(error.into())
    }
}

/// A scaled length is as long as the scale says up to this, mm: a cake that is scaled into a space has to fit.
const TOLERANCE: f64 = 1e-3;

/// Scales the cake in `source` for `goal`.
///
/// # Errors
/// A wrong cake file, a shape that is drawn outside it, or a space that holds nothing.
pub fn scale(
    planner: &Planner,
    source: &Source,
    goal: Goal,
    grow: Grow,
    cancel: &Cancel,
) -> Result<Scaled, ScaleError> {
    let design = resolved(planner, source, cancel).map_err(ArrangeError::from)?.design;
    let size = design.shape.size();
    let factor = match goal {
        Goal::Height(height) => height / size.z,
        Goal::Fit([w, d, h]) => {
            let board = design.board.as_ref();
            let room = h - board.map_or(0.0, plan::design::Board::height);
            if let Some(board) = board {
                let reach = board.footprint.shape.size();
                let fits = (reach[0] <= w && reach[1] <= d) || (reach[1] <= w && reach[0] <= d);
                if !fits || room <= 0.0 {
                    let style = design.style;
                    let what = format!(
                        "the presentation board ({}) does not fit into {}",
                        style.sides(&[reach[0], reach[1], board.height()]),
                        style.sides(&[w, d, h])
                    );
                    let fix = "use a larger space, or a smaller presentation board".into();
                    return Err(ScaleError::Impossible { what, fix });
                }
            }
            let flat = |w: f64, d: f64| (w / size.x).min(d / size.y);
            // Rounded lengths must not stand out, so either side of the shape keeps clear by the rounding.
            let [w, d, room] = [w, d, room].map(|side| side - 2.0 * TOLERANCE);
            let flat = flat(w, d).max(flat(d, w));
            match grow {
                Grow::Evenly => flat.min(room / size.z),
                Grow::Sideways if size.z > room => {
                    let style = design.style;
                    let what = format!(
                        "its height, {}, does not fit into {}, and sideways growth keeps it",
                        style.length(size.z),
                        style.length(room)
                    );
                    let fix = "use a higher space, or let it become lower (--grow evenly)".into();
                    return Err(ScaleError::Impossible { what, fix });
                }
                Grow::Sideways => flat,
            }
        }
    };
    scaled(source, factor, grow)
}

/// `source` with its shape and its details scaled.
///
/// # Errors
/// When sizes are drawn outside the file, or the file is not TOML.
pub fn scaled(source: &Source, factor: f64, grow: Grow) -> Result<Scaled, ScaleError> {
    let document = Document::new(source.cake.clone());
    document.tree()?;
    let mut scaler =
        Scaler { factor, grow, unit: document.unit(), source, sets: Vec::new(), inserts: Vec::new() };
    let root = FieldPath::root();
    for path in [root.key("shape"), root.key("detail"), root.key("centre_dowel").key("height")] {
        if let Some(value) = document.value(&path) {
            scaler.value(&path, value)?;
        }
    }
    // Zones lie on the shape and go with it; how thick they are does not.
    let coverings = root.key("covering");
    for path in (0..).map(|i| coverings.index(i)).take_while(|path| document.value(path).is_some()) {
        let zones = path.key("zone");
        for zone in (0..).map(|i| zones.index(i)).take_while(|path| document.value(path).is_some()) {
            for key in ["between", "outline"] {
                if let Some(value) = document.value(&zone.key(key)) {
                    scaler.value(&zone.key(key), value)?;
                }
            }
        }
    }
    let mut edits = scaler.sets;
    edits.append(&mut scaler.inserts);
    let edit = Edit::Many(edits);
    let cake = document.apply(&edit)?.document.into_file();
    Ok(Scaled { edit, source: Source { cake, ..source.clone() }, factor, grow })
}

/// Collects the edits that scale a shape.
struct Scaler<'a> {
    factor: f64,
    grow: Grow,
    unit: Unit,
    source: &'a Source,
    sets: Vec<Edit>,
    inserts: Vec<Edit>,
}

impl Scaler<'_> {
    fn value(&mut self, at: &FieldPath, value: &EditValue) -> Result<(), ScaleError> {
        match value {
            EditValue::Array(values) => {
                values.iter().enumerate().try_for_each(|(i, value)| self.value(&at.index(i), value))
            }
            EditValue::InlineTable(fields) | EditValue::Table(fields) => {
                let has = |key: &str| fields.iter().any(|(name, _)| name == key);
                let drawing = fields.iter().find(|(name, _)| name == "file").and_then(|(_, v)| v.as_str());
                if let Some(drawing) = drawing.filter(|_| !SIZES.iter().any(|key| has(key))) {
                    self.drawn(at, drawing)?;
                }
                fields.iter().try_for_each(|(key, value)| self.value(&at.key(key), value))
            }
            value if Cake::rules().is_length(at) => self.length(at, value),
            _ => Ok(()),
        }
    }

    /// A length in the form that it has. What cannot be read as one is left for the reader of the file to tell.
    fn length(&mut self, at: &FieldPath, value: &EditValue) -> Result<(), ScaleError> {
        let (Some(form), Ok(mm)) = (LengthForm::of(value, self.unit), LengthForm::read(value, self.unit))
        else {
            return Ok(());
        };
        if self.grow == Grow::Sideways && !is_sideways(at)? {
            return Ok(());
        }
        let is_unit = at.0.last() == Some(&Step::Key(USER_UNIT.to_owned()));
        let value = self.written(at, &form, mm * self.factor, is_unit)?;
        self.sets.push(Edit::Set { path: at.clone(), value });
        Ok(())
    }

    fn written(
        &self,
        at: &FieldPath,
        form: &LengthForm,
        mm: f64,
        is_unit: bool,
    ) -> Result<EditValue, ScaleError> {
        /// All sizes of a drawing are multiples of its unit, so that is written to a millionth of itself.
        const UNIT_TOLERANCE: f64 = 1e-6;
        let tolerance = if is_unit { TOLERANCE.min(UNIT_TOLERANCE * mm.abs()) } else { TOLERANCE };
        form.write_within(mm, tolerance).map_err(|error| ScaleError::Length { path: at.clone(), error })
    }

    /// Sees to it that the table at `at`, which names the file `drawing` and no size, says how large that is.
    fn drawn(&mut self, at: &FieldPath, drawing: &str) -> Result<(), ScaleError> {
        let path = at.key(USER_UNIT);
        if self.grow == Grow::Sideways && !is_sideways(&path)? {
            return Ok(());
        }
        let unit = if Cake::rules().is_length(&path) { self.user_unit(drawing) } else { None };
        let Some(unit) = unit else {
            return Err(ScaleError::Drawn { what: drawing.to_owned(), factor: self.factor });
        };
        let text = LengthForm::of(&"1 mm".into(), self.unit).unwrap_or_else(|| LengthForm::bare(self.unit));
        let value = self.written(&path, &text, unit * self.factor, true)?;
        self.inserts.push(Edit::Insert { path, value });
        Ok(())
    }

    /// How long a unit of an SVG drawing beside the cake file is, mm.
    fn user_unit(&self, drawing: &str) -> Option<f64> {
        svg::user_unit(&self.source.files().load(drawing, Content::Drawing).ok()?.bytes).ok()?
    }
}

/// Whether the length at `at` lies sideways: it grows where the height stays.
fn is_sideways(at: &FieldPath) -> Result<bool, ScaleError> {
    let key = |i: usize| match at.0.get(i) {
        Some(Step::Key(key)) => key.as_str(),
        _ => "",
    };
    let index = match at.0.last() {
        Some(Step::Index(index)) => Some(*index),
        _ => None,
    };
    // Points of an outline seen from the side: [right, up] or [radius, up].
    let upright = |from: usize| match (key(from), index) {
        ("points" | "from" | "draw", Some(index)) => Ok(index == 0),
        _ => Err(ScaleError::OneSize(at.clone())),
    };
    match (key(0), key(1), key(2)) {
        ("shape", "turned", _) => upright(2),
        ("shape", "crossed", "front" | "side") => upright(3),
        ("shape", "crossed", "height_tolerance") => Ok(false),
        ("shape", "crossed", _) => Ok(true),
        // Not the height of a picture, which is that of the outline as seen from above.
        ("shape", "sections", _) => Ok(at.0.len() != 5 || key(4) != "height"),
        ("shape", ..) => Err(ScaleError::OneSize(at.clone())),
        // Places of details move with the sides; their own sizes stay.
        ("detail" | "covering", ..) => Ok(is_place(at) && matches!(index, Some(0 | 1))),
        _ => Ok(false),
    }
}

/// Whether the length at `at` is part of the place of a detail.
fn is_place(at: &FieldPath) -> bool {
    let is_named = |name: &str| at.0.contains(&Step::Key(name.to_owned()));
    is_named("top")
        || ["centre", "point", "points", "path", "at", "from", "to", "along"].into_iter().any(is_named)
            && !is_named("outline")
}

/// The key that says how long a unit of a drawing is.
const USER_UNIT: &str = "user_unit";
/// Keys that say how large a drawing, a picture or a model is.
const SIZES: [&str; 4] = [USER_UNIT, "height", "width", "distance"];

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use cakefile::{CakeFile, world::Memory};

    use super::*;

    #[test]
    fn lengths_grow_and_everything_else_stays() {
        let text = "crumbline = 1\nname = \"x\"\nunit = \"cm\"\n[shape.turned]\nfrom = [5, 0]   # the foot\n\
                    draw = [{ to = [\"2 in\", 10], through = [6, 4.5] }]\n[[covering]]\nmaterial = \"ganache\"\n\
                    thickness = 1\n[[detail]]\nname = \"ball\"\ncut = \"sponge\"\n\
                    outline = { shape = { circle = 3 }, height = 4, bearing = 40, depth = 1 }\n[[detail]]\nname = \"eye\"\n\
                    cut = \"sponge\"\noutline = { depth = 1, shape = { picture = { file = \"a.png\", distance = 3, \
                    marks = [[10, 20], [30, 20]], threshold = 0.5 } } }\n";
        let source = Source::new(CakeFile::from_text("x", "", text), Arc::new(Memory::new()));
        let made = scaled(&source, 2.0, Grow::Evenly).unwrap().source.cake.text().to_owned();
        for part in [
            "from = [10, 0]   # the foot",
            "to = [\"4 in\", 20]",
            "thickness = 1\n",
            "bearing = 40",
            "circle = 6 }",
            "distance = 6,",
            "marks = [[10, 20], [30, 20]]",
            "threshold = 0.5",
        ] {
            assert!(made.contains(part), "{part} in\n{made}");
        }
    }

    #[test]
    fn zones_and_places_of_a_repeat_go_with_the_shape() {
        let text = "crumbline = 2\nname = \"x\"\n[shape.turned]\npoints = [[50, 0], [50, 80]]\n[[covering]]\n\
                    material = \"rolled icing\"\nthickness = 3\n[[covering.zone]]\nname = \"band\"\nbetween = [0, 20]\n\
                    thickness = 2\n[[detail]]\nname = \"dot\"\nadd = \"icing\"\n\
                    outline = { shape = { circle = 3 }, top = [10, 5], depth = 1 }\nrepeat = { count = 3, along = [20, 4, 0] }\n";
        let source = Source::new(CakeFile::from_text("x", "", text), Arc::new(Memory::new()));
        let made = |grow| scaled(&source, 2.0, grow).unwrap().source.cake.text().to_owned();
        let evenly = made(Grow::Evenly);
        for part in [
            "between = [0, 40]",
            "thickness = 2\n",
            "thickness = 3\n",
            "top = [20, 10]",
            "along = [40, 8, 0]",
            "count = 3",
        ] {
            assert!(evenly.contains(part), "{part} in\n{evenly}");
        }
        let sideways = made(Grow::Sideways);
        for part in ["between = [0, 20]", "top = [20, 10]", "along = [40, 8, 0]", "circle = 3"] {
            assert!(sideways.contains(part), "{part} in\n{sideways}");
        }
    }

    #[test]
    fn makers_keep_their_inches() {
        let text = "crumbline = 1\nname = \"x\"\nunit = \"in\"\n[shape.turned]\nfrom = [\"4 in\", 0]\n\
                    draw = [{ to = [\"3 1/2 in\", 4] }, { to = [0, \"20 cm\"] }]\n";
        let source = Source::new(CakeFile::from_text("x", "", text), Arc::new(Memory::new()));
        let made = scaled(&source, 1.2, Grow::Evenly).unwrap();
        for part in ["from = [\"4.8 in\", 0]", "to = [\"4.2 in\", 4.8]", "to = [0, \"24 cm\"]"] {
            assert!(made.source.cake.text().contains(part), "{part} in\n{}", made.source.cake.text());
        }
        let back = Document::new(source.cake.clone()).apply(&made.edit).unwrap();
        assert_eq!(back.document.text(), made.source.cake.text());
        let huge = scaled(&source, 1000.0, Grow::Evenly).unwrap_err();
        assert!(matches!(huge, ScaleError::Length { .. }), "{huge}");
    }
}
