//! The shape scaled to serve so many, to a height, or into a space. Coverings, boards and pans stay as they are.

use toml_edit::{DocumentMut, Item, TableLike, Value};

use crate::{
    amounts::Servings,
    arrange::{Aim, ArrangeError, Effort, propose, resolved},
};
use cakefile::{FieldPath, FileKind, schema::Cake};
use geom::{
    Cancel,
    units::{Unit, UnitStyle, parse_length},
};
use plan::{Planner, Source, outline::svg};

/// What a shape is scaled for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Goal {
    /// So many of the maker's own portion, by the cutting plan.
    Serve(u32),
    /// A height of the finished cake without its board, mm.
    Height(f64),
    /// A space that holds the cake on its board: width, depth, height, mm.
    Fit([f64; 3]),
}

/// A cake file whose shape is scaled.
#[derive(Debug, Clone)]
pub struct Scaled {
    /// The file, with the pantry and the files that it names.
    pub source: Source,
    /// By how much.
    pub factor: f64,
}

/// Why a shape cannot be scaled so.
#[derive(Debug, thiserror::Error)]
pub enum ScaleError {
    /// The cake cannot be read or arranged.
    #[error(transparent)]
    Arrange(#[from] ArrangeError),
    /// The file does not hold the sizes that would have to change.
    #[error("the size of {what} is not said in the cake file, so it cannot be changed there")]
    Drawn {
        /// The drawing or model.
        what: String,
        /// By how much it would have to be scaled.
        factor: f64,
    },
    /// Nothing of the shape fits.
    #[error("{0}")]
    Impossible(String),
}

impl ScaleError {
    /// How to mend it.
    pub fn mend(&self) -> String {
        match self {
            Self::Arrange(_) => "mend the cake first".into(),
            Self::Drawn { factor, .. } => {
                format!(
                    "give it a height in the cake file, or scale it to {:.1} % of its size",
                    100.0 * factor
                )
            }
            Self::Impossible(_) => "use a larger space or a smaller board, or add larger pans".into(),
        }
    }
}

impl From<cakefile::CakeFileError> for ScaleError {
    fn from(error: cakefile::CakeFileError) -> Self {
        Self::Arrange(error.into())
    }
}

/// The smallest and the greatest scale that is tried.
const RANGE: (f64, f64) = (0.1, 10.0);

/// Scales the cake in `source` for `goal`.
///
/// # Errors
/// A wrong cake file, a shape that is drawn outside it, or a space that holds nothing.
pub fn scale(planner: &Planner, source: &Source, goal: Goal, cancel: &Cancel) -> Result<Scaled, ScaleError> {
    let design = resolved(planner, source)?.design;
    let size = design.shape.size();
    let factor = match goal {
        Goal::Height(height) => height / size.z,
        Goal::Fit([w, d, h]) => {
            let board = design.board.as_ref();
            let room = h - board.map_or(0.0, |board| board.thickness);
            if let Some(board) = board {
                let reach = match board.footprint.shape {
                    plan::design::FootprintShape::Round { diameter } => [diameter; 2],
                    plan::design::FootprintShape::Rectangle { width, depth } => [width, depth],
                };
                let fits = (reach[0] <= w && reach[1] <= d) || (reach[1] <= w && reach[0] <= d);
                if !fits || room <= 0.0 {
                    let style = UnitStyle::new(design.unit);
                    return Err(ScaleError::Impossible(format!(
                        "the presentation board ({}) does not fit into {}",
                        style.sides(&[reach[0], reach[1], board.thickness]),
                        style.sides(&[w, d, h])
                    )));
                }
            }
            let flat = |w: f64, d: f64| (w / size.x).min(d / size.y);
            flat(w, d).max(flat(d, w)).min(room / size.z)
        }
        Goal::Serve(count) => return serving(planner, source, count, cancel),
    };
    scaled(source, factor)
}

/// The smallest scale, to a hundredth, at which the best stack serves `count`.
fn serving(planner: &Planner, source: &Source, count: u32, cancel: &Cancel) -> Result<Scaled, ScaleError> {
    let served = |factor: f64| -> Result<u32, ScaleError> {
        let scaled = scaled(source, factor)?;
        // A quick look will do: the chosen scale is searched in full afterwards.
        let effort = Effort { first: 12, last: 200 };
        let found = propose(planner, &scaled.source, &[Aim::Best], effort, cancel)?;
        let plan = found.proposals.first().map(|proposal| &proposal.plan);
        Ok(plan.map_or(0, |plan| Servings::new(plan).served.first().map_or(0, |served| served.by_cutting)))
    };
    let hundredths = |factor: f64| (factor * 100.0).round() / 100.0;
    let (mut low, mut high) = (RANGE.0, 1.0);
    let mut have = served(high)?;
    while have < count && high < RANGE.1 {
        low = high;
        // Servings grow with the cube of the scale, a little faster where coverings take their share.
        let guess = (f64::from(count) / f64::from(have.max(1))).cbrt().clamp(1.05, 2.0);
        high = hundredths(high * guess);
        have = served(high)?;
        if have == 0 {
            break;
        }
    }
    if have < count {
        return Err(ScaleError::Impossible(format!(
            "no scale up to {:.0} % of its size serves {count} with the pans that are there; at {:.0} % it serves {have}",
            100.0 * RANGE.1,
            100.0 * high
        )));
    }
    while high - low > 0.011 {
        let half = hundredths((low + high) / 2.0);
        if half <= low || half >= high {
            break;
        }
        if served(half)? >= count { high = half } else { low = half }
    }
    scaled(source, high)
}

/// `source` with its shape and its details scaled.
///
/// # Errors
/// When sizes are drawn outside the file.
pub fn scaled(source: &Source, factor: f64) -> Result<Scaled, ScaleError> {
    let file = &source.cake;
    let wrong = |error: toml_edit::TomlError| ScaleError::Impossible(error.to_string());
    let mut document: DocumentMut = file.text().parse().map_err(wrong)?;
    let unit = file.parse().document.and_then(|cake| cake.unit).unwrap_or_default();
    let scaler = Scaler { factor, unit, source };
    for part in ["shape", "trim"] {
        if let Some(item) = document.get_mut(part) {
            scaler.item(&FieldPath::root().key(part), item)?;
        }
    }
    if let Some(dowel) = document.get_mut("centre_dowel").and_then(Item::as_table_like_mut)
        && let Some(height) = dowel.get_mut("height")
    {
        scaler.item(&FieldPath::root().key("centre_dowel").key("height"), height)?;
    }
    Ok(Scaled { source: source.with_text(document.to_string()), factor })
}

struct Scaler<'a> {
    factor: f64,
    unit: Unit,
    source: &'a Source,
}

impl Scaler<'_> {
    fn item(&self, at: &FieldPath, item: &mut Item) -> Result<(), ScaleError> {
        match item {
            Item::Value(value) => self.value(at, value),
            Item::Table(table) => self.table(at, table),
            Item::ArrayOfTables(tables) => {
                tables.iter_mut().enumerate().try_for_each(|(i, table)| self.table(&at.index(i), table))
            }
            Item::None => Ok(()),
        }
    }

    fn table(&self, at: &FieldPath, table: &mut dyn TableLike) -> Result<(), ScaleError> {
        if let Some(drawing) = table.get("file").and_then(Item::as_str).map(str::to_owned) {
            self.drawn(at, &drawing, table)?;
        }
        table.iter_mut().try_for_each(|(key, item)| self.item(&at.key(key.get()), item))
    }

    fn value(&self, at: &FieldPath, value: &mut Value) -> Result<(), ScaleError> {
        match value {
            Value::Array(array) => {
                array.iter_mut().enumerate().try_for_each(|(i, value)| self.value(&at.index(i), value))
            }
            Value::InlineTable(table) => self.table(at, table),
            _ if Cake::rules().is_length(at) => {
                self.length(value);
                Ok(())
            }
            _ => Ok(()),
        }
    }

    fn length(&self, value: &mut Value) {
        let made = match &*value {
            Value::Integer(number) => Value::from(self.scaled(*number.value() as f64)),
            Value::Float(number) => Value::from(self.scaled(*number.value())),
            Value::String(text) => match parse_length(text.value(), self.unit) {
                Ok(mm) => Value::from(format!("{} mm", self.scaled(mm))),
                Err(_) => return,
            },
            _ => return,
        };
        let decor = value.decor().clone();
        *value = made;
        *value.decor_mut() = decor;
    }

    /// Sees to it that `table`, which names the file `drawing`, says how large that is.
    fn drawn(&self, at: &FieldPath, drawing: &str, table: &mut dyn TableLike) -> Result<(), ScaleError> {
        /// Keys that say it.
        const SIZES: [&str; 4] = ["user_unit", "height", "width", "distance"];
        if SIZES.iter().any(|key| table.contains_key(key)) {
            return Ok(());
        }
        let unit = if Cake::rules().is_length(&at.key("user_unit")) { self.user_unit(drawing) } else { None };
        let Some(unit) = unit else {
            return Err(ScaleError::Drawn { what: drawing.to_owned(), factor: self.factor });
        };
        // The rest of the table is scaled with it.
        table.insert("user_unit", toml_edit::value(format!("{unit} mm")));
        Ok(())
    }

    /// How long a unit of an SVG drawing beside the cake file is, mm.
    fn user_unit(&self, drawing: &str) -> Option<f64> {
        svg::user_unit(&self.source.files().load(drawing).ok()?.bytes).ok()?
    }

    /// To a hundred-thousandth, so that the file stays readable.
    fn scaled(&self, number: f64) -> f64 {
        (number * self.factor * 1e5).round() / 1e5 + 0.0
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use cakefile::{CakeFile, world::Memory};

    use super::*;

    #[test]
    fn lengths_grow_and_everything_else_stays() {
        let text = "crumbline = 1\nname = \"x\"\nunit = \"cm\"\n[shape.turned]\nfrom = [5, 0]   # the foot\n\
                    draw = [{ to = [\"2 in\", 10], through = [6, 4.5] }]\n[[covering]]\nmaterial = \"ganache\"\n\
                    thickness = 1\n[[trim]]\nname = \"ball\"\ncut = \"sponge\"\n\
                    outline = { shape = { circle = 3 }, height = 4, bearing = 40, depth = 1 }\n[[trim]]\nname = \"eye\"\n\
                    cut = \"sponge\"\noutline = { depth = 1, shape = { picture = { file = \"a.png\", distance = 3, \
                    marks = [[10, 20], [30, 20]], threshold = 0.5 } } }\n";
        let source = Source::new(CakeFile::from_text("x", "", text), Arc::new(Memory::new()));
        let made = scaled(&source, 2.0).unwrap().source.cake.text().to_owned();
        for part in [
            "from = [10.0, 0.0]   # the foot",
            "to = [\"101.6 mm\", 20.0]",
            "thickness = 1\n",
            "bearing = 40",
            "circle = 6.0",
            "distance = 6.0",
            "marks = [[10, 20], [30, 20]]",
            "threshold = 0.5",
        ] {
            assert!(made.contains(part), "{part} in\n{made}");
        }
    }
}
