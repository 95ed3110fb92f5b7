//! The shape scaled to serve so many, to a height, or into a space. Coverings, boards and pans stay as they are.

use toml_edit::{DocumentMut, Item, Value};

use crate::{
    amounts::Servings,
    arrange::{Aim, ArrangeError, Effort, propose, resolved},
    cakefile::CakeFile,
    pantry::Pantry,
    units::{Unit, parse_length},
};

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
    /// The file.
    pub file: CakeFile,
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
    #[error("{what} is drawn outside the cake file, so its size cannot be changed here")]
    Drawn {
        /// The table.
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
                format!("scale the drawing itself to {:.1} % of its size", 100.0 * factor)
            }
            Self::Impossible(_) => "use a larger space, or a smaller board".into(),
        }
    }
}

impl From<crate::cakefile::CakeFileError> for ScaleError {
    fn from(error: crate::cakefile::CakeFileError) -> Self {
        Self::Arrange(error.into())
    }
}

/// The smallest and the greatest scale that is tried.
const RANGE: (f64, f64) = (0.1, 10.0);

/// Scales the cake in `file` for `goal`.
///
/// # Errors
/// A wrong cake file, a shape that is drawn outside it, or a space that holds nothing.
pub fn scale(file: &CakeFile, pantry: &Pantry, goal: Goal) -> Result<Scaled, ScaleError> {
    let (_, design) = resolved(file, pantry)?;
    let size = design.shape.size();
    let factor = match goal {
        Goal::Height(height) => height / size.z,
        Goal::Fit([w, d, h]) => {
            let board = design.board.as_ref();
            let room = h - board.map_or(0.0, |board| board.thickness);
            if let Some(board) = board {
                let reach = match board.footprint.shape {
                    crate::design::FootprintShape::Round { diameter } => [diameter; 2],
                    crate::design::FootprintShape::Rectangle { width, depth } => [width, depth],
                };
                let fits = (reach[0] <= w && reach[1] <= d) || (reach[1] <= w && reach[0] <= d);
                if !fits || room <= 0.0 {
                    return Err(ScaleError::Impossible(format!(
                        "the presentation board ({:.0} × {:.0} × {:.0} mm) does not fit into {w:.0} × {d:.0} × {h:.0} mm",
                        reach[0], reach[1], board.thickness
                    )));
                }
            }
            let flat = |w: f64, d: f64| (w / size.x).min(d / size.y);
            flat(w, d).max(flat(d, w)).min(room / size.z)
        }
        Goal::Serve(count) => return serving(file, pantry, count),
    };
    scaled(file, factor)
}

/// The smallest scale, to a hundredth, at which the best stack serves `count`.
fn serving(file: &CakeFile, pantry: &Pantry, count: u32) -> Result<Scaled, ScaleError> {
    let served = |factor: f64| -> Result<u32, ScaleError> {
        let scaled = scaled(file, factor)?;
        // A quick look will do: the chosen scale is searched in full afterwards.
        let found = propose(&scaled.file, pantry, &[Aim::Best], Effort { first: 12, second: 200 })?;
        let plan = found.proposals.first().map(|proposal| &proposal.plan);
        Ok(plan.map_or(0, |plan| {
            Servings::new(plan, pantry).served.first().map_or(0, |served| served.by_cutting)
        }))
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
            "no scale up to {RANGE:?} serves {count} with the pans that are there; the largest tried serves {have}"
        )));
    }
    while high - low > 0.011 {
        let half = hundredths((low + high) / 2.0);
        if half <= low || half >= high {
            break;
        }
        if served(half)? >= count { high = half } else { low = half }
    }
    scaled(file, high)
}

/// `file` with its shape and its details scaled.
///
/// # Errors
/// When sizes are drawn outside the file.
pub fn scaled(file: &CakeFile, factor: f64) -> Result<Scaled, ScaleError> {
    let wrong = |error: toml_edit::TomlError| ScaleError::Impossible(error.to_string());
    let mut document: DocumentMut = file.text().parse().map_err(wrong)?;
    let unit = match document.get("unit").and_then(Item::as_str) {
        Some("cm") => Unit::Centimetre,
        Some("in") => Unit::Inch,
        _ => Unit::Millimetre,
    };
    let scaler = Scaler { factor, unit };
    if let Some(shape) = document.get_mut("shape") {
        scaler.item("shape", shape)?;
    }
    if let Some(trims) = document.get_mut("trim").and_then(Item::as_array_of_tables_mut) {
        for trim in trims.iter_mut() {
            for (key, item) in trim.iter_mut() {
                scaler.item(&format!("trim {}", key.get()), item)?;
            }
        }
    }
    if let Some(dowel) = document.get_mut("centre_dowel").and_then(Item::as_table_like_mut)
        && let Some(height) = dowel.get_mut("height")
    {
        scaler.item("height", height)?;
    }
    Ok(Scaled { file: CakeFile::from_text(file.name(), file.folder(), document.to_string()), factor })
}

/// Keys whose numbers are no lengths.
const NO_LENGTHS: [&str; 13] = [
    "turn",
    "bearing",
    "normal",
    "axis",
    "count",
    "roundness",
    "front_scale",
    "side_scale",
    "above_scale",
    "colour",
    "material",
    "name",
    "id",
];

/// Keys that say how large something is that is drawn in another file.
const SIZES: [&str; 4] = ["user_unit", "height", "width", "size"];

struct Scaler {
    factor: f64,
    unit: Unit,
}

impl Scaler {
    fn item(&self, what: &str, item: &mut Item) -> Result<(), ScaleError> {
        match item {
            Item::Value(value) => self.value(what, value),
            Item::Table(table) => {
                self.drawn(what, table.contains_key("file"), |key| table.contains_key(key))?;
                table.iter_mut().try_for_each(|(key, item)| self.entry(key.get(), item))
            }
            Item::ArrayOfTables(tables) => tables.iter_mut().try_for_each(|table| {
                table.iter_mut().try_for_each(|(key, item)| self.entry(key.get(), item))
            }),
            Item::None => Ok(()),
        }
    }

    fn entry(&self, key: &str, item: &mut Item) -> Result<(), ScaleError> {
        if NO_LENGTHS.contains(&key) { Ok(()) } else { self.item(key, item) }
    }

    fn value(&self, what: &str, value: &mut Value) -> Result<(), ScaleError> {
        let decor = value.decor().clone();
        let made = match value {
            Value::Integer(number) => Some(self.number(*number.value() as f64)),
            Value::Float(number) => Some(self.number(*number.value())),
            Value::String(text) => parse_length(text.value(), self.unit)
                .ok()
                .filter(|_| text.value().trim().starts_with(|c: char| c.is_ascii_digit() || "-.".contains(c)))
                .map(|mm| Value::from(format!("{} mm", self.rounded(mm * self.factor)))),
            Value::Array(array) => {
                array.iter_mut().try_for_each(|value| self.value(what, value))?;
                None
            }
            Value::InlineTable(table) => {
                self.drawn(what, table.contains_key("file"), |key| table.contains_key(key))?;
                for (key, value) in table.iter_mut() {
                    if !NO_LENGTHS.contains(&key.get()) {
                        self.value(key.get(), value)?;
                    }
                }
                None
            }
            Value::Boolean(_) | Value::Datetime(_) => None,
        };
        if let Some(made) = made {
            *value = made;
            *value.decor_mut() = decor;
        }
        Ok(())
    }

    fn drawn(&self, what: &str, has_file: bool, has: impl Fn(&str) -> bool) -> Result<(), ScaleError> {
        if has_file && !SIZES.iter().any(|key| has(key)) {
            return Err(ScaleError::Drawn { what: what.to_owned(), factor: self.factor });
        }
        Ok(())
    }

    fn number(&self, number: f64) -> Value {
        Value::from(self.rounded(number * self.factor))
    }

    /// To a thousandth, so that the file stays readable.
    fn rounded(&self, number: f64) -> f64 {
        (number * 1000.0).round() / 1000.0 + 0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_grow_and_everything_else_stays() {
        let text = "crumbline = 1\nname = \"x\"\nunit = \"cm\"\n[shape.turned]\nfrom = [5, 0]   # the foot\n\
                    draw = [{ to = [\"2 in\", 10], through = [6, 4.5] }]\n[[covering]]\nmaterial = \"ganache\"\n\
                    thickness = 1\n[[trim]]\nname = \"ball\"\ncut = \"sponge\"\n\
                    outline = { shape = { circle = 3 }, height = 4, bearing = 40, depth = 1 }\n";
        let file = CakeFile::from_text("x", "", text);
        let made = scaled(&file, 2.0).unwrap().file.text().to_owned();
        for part in [
            "from = [10.0, 0.0]   # the foot",
            "to = [\"101.6 mm\", 20.0]",
            "thickness = 1\n",
            "bearing = 40",
            "circle = 6.0",
        ] {
            assert!(made.contains(part), "{part} in\n{made}");
        }
    }
}
