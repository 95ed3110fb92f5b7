//! The cake file as written → a [`Design`], or every problem at once.

mod board;
mod coverings;
mod crossed_remarks;
mod details;
mod dowels;
mod finishes;
mod limits;
mod materials;
mod names;
mod pieces;
mod relief;
mod repeats;
mod rolls;
mod shape;
mod sheets;
mod tiers;
mod tools;
mod value;
mod zones;

use std::collections::BTreeMap;

use super::{Covering, Design, Detail, Material, Remembered, Shape, ZonePlace, printing, support};
use cakefile::world::Beside;
use cakefile::{Diagnostic, FieldPath, Severity, schema};
use geom::{
    Cancel, Tolerance,
    units::{Unit, UnitStyle},
};

/// Resolves a cake file.
///
/// # Errors
/// All problems found, warnings among them, if any is an error. On success the warnings come with
/// the design. Once `cancel` asks to stop, neither means anything.
pub(crate) fn resolve(
    cake: &schema::Cake,
    files: &Beside<'_>,
    remembered: &Remembered,
    cancel: &Cancel,
) -> Result<(Design, Vec<Diagnostic>), Vec<Diagnostic>> {
    let mut resolver = Resolver {
        unit: cake.unit.unwrap_or_default(),
        style: style(cake),
        materials: BTreeMap::new(),
        problems: Vec::new(),
        files,
        remembered,
        cancel,
        shape: &cake.shape,
        zones: Vec::new(),
    };
    let design = resolver.cake(cake);
    let sound = resolver.problems.iter().all(|p| p.severity != Severity::Error);
    match design {
        Some(design) if sound => Ok((design, resolver.problems)),
        _ => Err(resolver.problems),
    }
}

/// How reports of `cake` write figures.
fn style(cake: &schema::Cake) -> UnitStyle {
    let usual = UnitStyle::new(cake.unit.unwrap_or_default());
    let Some(given) = &cake.units else { return usual };
    UnitStyle {
        length: usual.length,
        mass: given.mass.unwrap_or(usual.mass),
        volume: given.volume.unwrap_or(usual.volume),
        cups: given.cups.unwrap_or(usual.cups),
        temperature: given.temperature.unwrap_or(usual.temperature),
        numbers: usual.numbers,
    }
}

/// Step of the lattice for shapes that are not turned, unless the cake file says otherwise, mm.
const GRID: f64 = 2.0;
struct Resolver<'a> {
    unit: Unit,
    style: UnitStyle,
    materials: BTreeMap<String, Material>,
    problems: Vec<Diagnostic>,
    files: &'a Beside<'a>,
    remembered: &'a Remembered,
    cancel: &'a Cancel,
    shape: &'a schema::Shape,
    /// Zones by their names, the outermost covering's first; `None` for one that could not be read.
    zones: Vec<(String, Option<ZonePlace>)>,
}

/// Reads `Ok` and pushes an `Err` as a problem at `field`.
macro_rules! read {
    ($self:ident, $value:expr, $field:expr) => {
        match $value {
            Ok(value) => Some(value),
            Err(error) => {
                $self.problems.push(Diagnostic::error($field, error.to_string()));
                None
            }
        }
    };
}

use read;

impl Resolver<'_> {
    fn cake(&mut self, cake: &schema::Cake) -> Option<Design> {
        let root = FieldPath::root();
        if cake.name.trim().is_empty() {
            self.refuse(root.key("name"), "the cake has no name", "give it one: file names are made from it");
        }
        self.own_materials(&cake.materials);
        let accuracy = cake.accuracy.clone().unwrap_or_default();
        let at = root.key("accuracy");
        let preview = self.tolerance(accuracy.preview.as_ref(), at.key("preview"), Tolerance::PREVIEW);
        let tool = self.tolerance(accuracy.tool.as_ref(), at.key("tool"), Tolerance::TOOL);
        let grid = self.maybe(accuracy.grid.as_ref(), |s, size| s.grid(size, at.key("grid")));
        let board = self.maybe(cake.board.as_ref(), |s, b| s.presentation_board(b, &root.key("board")));
        let shape = self.shape(&cake.shape, tool.unwrap_or(Tolerance::TOOL), &root.key("shape"));
        let coverings = self.each(&cake.coverings, "covering", Self::covering);
        let zoned = self.zoned(cake, coverings, shape.as_deref());
        let tiers = self.each(&cake.tiers, "tier", Self::tier);
        let at = root.key("centre_dowel");
        let centre_dowel = self.maybe(cake.centre_dowel.as_ref(), |s, d| {
            s.centre_dowel(d, board.as_ref().and_then(Option::as_ref), &at)
        });
        let details: Option<Vec<Detail>> = self
            .each(&cake.details, "detail", Self::detail)
            .map(|details| details.into_iter().flatten().collect());
        let (coverings, over) = zoned.unzip();
        let details = details.zip(over).map(|(details, over)| [details, over].concat());
        self.refuse_repeated_copies(details.as_deref().unwrap_or_default());
        let limits = self.limits(cake.limits.as_ref(), &root.key("limits"));
        let paper = self.paper(cake);
        let given = cake.printing.clone().unwrap_or_default();
        let printing = printing::resolve(&given, self.unit, &root.key("printing"), &mut self.problems);
        let at = root.key("support");
        let support = support::resolve(cake.support.as_ref(), &cake.tiers, &at, &mut self.problems);
        self.refuse_repeats("tier", cake.tiers.iter().map(|t| t.name.as_str()));
        self.refuse_repeats("detail", cake.details.iter().map(|t| t.name.as_str()));
        self.refuse_repeated_layers(tiers.as_deref().unwrap_or_default());
        self.refuse_hard_coverings(coverings.as_deref().unwrap_or_default());
        self.refuse_no_layers(&cake.tiers);
        let shape = shape?;
        let grid = self.grid_for(grid?, &shape, &root.key("accuracy").key("grid"));
        Some(Design {
            name: cake.name.trim().to_owned(),
            unit: self.unit,
            style: self.style,
            notes: cake.notes.clone(),
            board: board?,
            shape,
            coverings: coverings?,
            tiers: tiers?,
            centre_dowel: centre_dowel?,
            details: details?,
            limits: limits?,
            preview: preview?,
            tool: tool?,
            grid,
            paper: paper?,
            printing: printing?,
            support: support?,
        })
    }

    /// Coverings with their zones, and what of these is laid over the outermost one.
    fn zoned(
        &mut self,
        cake: &schema::Cake,
        coverings: Option<Vec<Covering>>,
        shape: Option<&Shape>,
    ) -> Option<(Vec<Covering>, Vec<Detail>)> {
        let (mut coverings, mut over, mut sound) = (coverings?, Vec::new(), true);
        for (index, (covering, written)) in coverings.iter_mut().zip(&cake.coverings).enumerate() {
            match self.zones(written, covering, (index, shape)) {
                Some(zones) => {
                    covering.zones = zones.parts;
                    over.extend(zones.over);
                }
                None => sound = false,
            }
        }
        sound.then_some((coverings, over))
    }

    fn refuse(&mut self, field: FieldPath, message: impl Into<String>, fix: impl Into<String>) {
        self.problems.push(Diagnostic::error(field, message).fix(fix));
    }

    /// `Some(None)` if not given, `Some(Some(_))` if given and right, `None` if wrong.
    fn maybe<T, U>(
        &mut self,
        value: Option<&T>,
        read: impl FnOnce(&mut Self, &T) -> Option<U>,
    ) -> Option<Option<U>> {
        match value {
            None => Some(None),
            Some(value) => read(self, value).map(Some),
        }
    }

    /// Reads every entry of the array called `key` at the top, so that all problems are found.
    fn each<T, U>(
        &mut self,
        values: &[T],
        key: &str,
        read: impl Fn(&mut Self, &T, usize, &FieldPath) -> Option<U>,
    ) -> Option<Vec<U>> {
        let array = FieldPath::root().key(key);
        let read: Vec<Option<U>> =
            values.iter().enumerate().map(|(i, v)| read(self, v, i, &array.index(i))).collect();
        read.into_iter().collect()
    }
}

fn read_problem<T>(value: Result<T, Diagnostic>, problems: &mut Vec<Diagnostic>) -> Option<T> {
    value.map_err(|problem| problems.push(problem)).ok()
}
