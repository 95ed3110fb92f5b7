//! The cake file as written → a [`Design`], or every problem at once.

mod relief;
mod shape;

use std::collections::BTreeMap;

use glam::{DVec2, DVec3, dvec2, dvec3};

use super::{
    Board, CentreDowel, Covering, Depth, Design, Dowels, Filling, Footprint, FootprintShape, Layer, Limits,
    Material, MaterialKind, Operation, Paper, Remembered, Tier, Tool, Trim, material, printing, support,
};
use cakefile::world::Beside;
use cakefile::{
    Diagnostic, FieldPath, Severity, exactly_one, nearest,
    schema::{self, Angle, Colour, Length, Size},
};
use formats::model::Rgb;
use geom::{Tolerance, sweep, units::Unit};

/// Most dowels, layers and fillings that one cake can have; beyond it the file is a mistake.
const MOST_DOWELS: u32 = 200;

/// Resolves a cake file.
///
/// # Errors
/// All problems found, warnings among them, if any is an error. On success the warnings come with
/// the design.
pub(crate) fn resolve(
    cake: &schema::Cake,
    files: &Beside<'_>,
    remembered: &Remembered,
) -> Result<(Design, Vec<Diagnostic>), Vec<Diagnostic>> {
    let mut resolver = Resolver {
        unit: cake.unit.unwrap_or_default(),
        materials: BTreeMap::new(),
        problems: Vec::new(),
        files,
        remembered,
        shape: &cake.shape,
    };
    let design = resolver.cake(cake);
    let sound = resolver.problems.iter().all(|p| p.severity != Severity::Error);
    match design {
        Some(design) if sound => Ok((design, resolver.problems)),
        _ => Err(resolver.problems),
    }
}

/// Step of the lattice for shapes that are not turned, unless the cake file says otherwise, mm.
const GRID: f64 = 2.0;
/// Finer steps take minutes, coarser ones lose a finger, mm.
const GRIDS: std::ops::RangeInclusive<f64> = 0.5..=10.0;

struct Resolver<'a> {
    unit: Unit,
    materials: BTreeMap<String, Material>,
    problems: Vec<Diagnostic>,
    files: &'a Beside<'a>,
    remembered: &'a Remembered,
    shape: &'a schema::Shape,
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
        let board = self.maybe(cake.board.as_ref(), |s, b| s.board(b, &root.key("board")));
        let shape = self.shape(&cake.shape, tool.unwrap_or(Tolerance::TOOL), &root.key("shape"));
        let coverings = self.each(&cake.coverings, "covering", Self::covering);
        let tiers = self.each(&cake.tiers, "tier", Self::tier);
        let at = root.key("centre_dowel");
        let centre_dowel = self.maybe(cake.centre_dowel.as_ref(), |s, d| s.centre_dowel(d, &at));
        let trims = self.each(&cake.trims, "trim", Self::trim);
        let limits = self.limits(cake.limits.as_ref(), &root.key("limits"));
        let paper = self.paper(cake.paper.as_ref(), &root.key("paper"));
        let given = cake.printing.clone().unwrap_or_default();
        let printing = printing::resolve(&given, self.unit, &root.key("printing"), &mut self.problems);
        let at = root.key("support");
        let support = support::resolve(cake.support.as_ref(), &cake.tiers, &at, &mut self.problems);
        self.refuse_repeats("tier", cake.tiers.iter().map(|t| t.name.as_str()));
        self.refuse_repeats("trim", cake.trims.iter().map(|t| t.name.as_str()));
        self.refuse_repeated_layers(tiers.as_deref().unwrap_or_default());
        self.refuse_hard_coverings(coverings.as_deref().unwrap_or_default());
        if cake.tiers.iter().all(|t| t.layers.is_empty()) {
            self.refuse(
                root.key("tier"),
                "the cake has no layers",
                "add a tier: [[tier]] with a name and [[tier.layer]] entries, each with a pan and a height",
            );
        }
        Some(Design {
            name: cake.name.trim().to_owned(),
            unit: self.unit,
            notes: cake.notes.clone(),
            board: board?,
            shape: shape?,
            coverings: coverings?,
            tiers: tiers?,
            centre_dowel: centre_dowel?,
            trims: trims?,
            limits: limits?,
            preview: preview?,
            tool: tool?,
            grid: grid?.unwrap_or(GRID),
            paper: paper?,
            printing: printing?,
            support: support?,
        })
    }

    // ── Plumbing ────────────────────────────────────────────────────────────────────────────────

    fn refuse(&mut self, field: FieldPath, message: impl Into<String>, mend: impl Into<String>) {
        self.problems.push(Diagnostic::error(field, message).mend(mend));
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

    fn length(&mut self, value: &Length, field: FieldPath) -> Option<f64> {
        read!(self, value.to_mm(self.unit), field)
    }

    fn size(&mut self, value: &Size, field: FieldPath) -> Option<f64> {
        read!(self, value.to_mm(self.unit), field)
    }

    fn angle(&mut self, value: Option<&Angle>, field: FieldPath) -> Option<f64> {
        match value {
            None => Some(0.0),
            Some(angle) => read!(self, angle.to_degrees(), field),
        }
    }

    fn point2(&mut self, p: &[Length; 2], field: &FieldPath) -> Option<DVec2> {
        let x = self.length(&p[0], field.index(0));
        let y = self.length(&p[1], field.index(1));
        Some(dvec2(x?, y?))
    }

    fn point3(&mut self, p: &[Length; 3], field: &FieldPath) -> Option<DVec3> {
        let x = self.length(&p[0], field.index(0));
        let y = self.length(&p[1], field.index(1));
        let z = self.length(&p[2], field.index(2));
        Some(dvec3(x?, y?, z?))
    }

    /// A direction of length 1.
    fn direction(&mut self, p: &[Length; 3], field: &FieldPath) -> Option<DVec3> {
        let v = self.point3(p, field)?;
        let unit = v.try_normalize();
        if unit.is_none() {
            self.refuse(
                field.clone(),
                "a direction cannot be 0, 0, 0",
                "point it somewhere: [0, 0, 1] is straight up",
            );
        }
        unit
    }

    fn colour(&mut self, colour: &Colour, field: FieldPath) -> Option<Rgb> {
        let rgb = colour.to_rgb().map(|[r, g, b]| Rgb(r, g, b));
        if rgb.is_none() {
            self.refuse(
                field,
                format!("\"{}\" is no colour", colour.0),
                "write it as \"#rrggbb\", such as \"#d04030\"",
            );
        }
        rgb
    }

    fn tolerance(&mut self, value: Option<&Size>, field: FieldPath, default: Tolerance) -> Option<Tolerance> {
        match value {
            None => Some(default),
            Some(size) => self.size(size, field).and_then(Tolerance::new),
        }
    }

    fn grid(&mut self, size: &Size, field: FieldPath) -> Option<f64> {
        let step = self.size(size, field.clone())?;
        if GRIDS.contains(&step) {
            return Some(step);
        }
        self.refuse(
            field,
            format!("a step of {step} mm cannot be used"),
            format!("give {} to {} mm; {GRID} mm if left out", GRIDS.start(), GRIDS.end()),
        );
        None
    }

    fn refuse_repeats<'n>(&mut self, key: &str, names: impl Iterator<Item = &'n str>) {
        let mut seen = std::collections::HashMap::new();
        for (i, name) in names.enumerate() {
            if let Some(first) = seen.insert(name, i) {
                self.refuse(
                    FieldPath::root().key(key).index(i).key("name"),
                    format!(
                        "there are two {key}s called \"{name}\": number {} and number {}",
                        first + 1,
                        i + 1
                    ),
                    "give each its own name",
                );
            }
        }
    }

    fn refuse_repeated_layers(&mut self, tiers: &[Tier]) {
        let mut seen = std::collections::HashSet::new();
        for layer in tiers.iter().flat_map(|t| &t.layers) {
            if !seen.insert(layer.name.as_str()) {
                self.refuse(
                    layer.field.clone(),
                    format!("there are two layers called \"{}\"", layer.name),
                    "give each its own name",
                );
            }
        }
    }

    // ── Materials ───────────────────────────────────────────────────────────────────────────────

    fn own_materials(&mut self, own: &BTreeMap<String, schema::Material>) {
        for (name, given) in own {
            let at = FieldPath::root().key("material").key(name);
            let like = given.like.as_deref().unwrap_or(name);
            let Some(mut made) = material::built_in(like) else {
                let problem = if given.like.is_some() {
                    self.unknown_material(like, at.key("like"))
                } else {
                    Diagnostic::error(
                        at,
                        format!("\"{name}\" is a new material and does not say what it is like"),
                    )
                    .mend("add like = \"sponge\", or another built-in material")
                };
                self.problems.push(problem);
                continue;
            };
            made.name.clone_from(name);
            if let Some(density) = given.density {
                /// Denser than any metal that a board could be made of, g/mL.
                const MOST: f64 = 9.0;
                if density.is_finite() && density > 0.0 && density < MOST {
                    made.density = density;
                } else {
                    self.refuse(
                        at.key("density"),
                        format!("a density of {density} g/mL cannot be"),
                        "give grams per millilitre: sponge about 0.4, ganache about 1.1, rolled icing about 1.35",
                    );
                }
            }
            if let Some(colour) = &given.colour
                && let Some(rgb) = self.colour(colour, at.key("colour"))
            {
                made.colour = rgb;
            }
            self.materials.insert(name.clone(), made);
        }
    }

    fn unknown_material(&self, name: &str, field: FieldPath) -> Diagnostic {
        let mut known: Vec<&str> = self.materials.keys().map(String::as_str).collect();
        material::built_in_names().for_each(|built_in| known.push(built_in));
        let help = match nearest(name, known) {
            Some(close) => {
                format!("did you mean \"{close}\"? Or describe your own under [material.\"{name}\"]")
            }
            None => format!(
                "describe it: [material.\"{name}\"] with like = \"sponge\", or another built-in material"
            ),
        };
        Diagnostic::error(field, format!("no material is called \"{name}\"")).mend(help)
    }

    fn material(&mut self, name: &str, kinds: &[MaterialKind], field: FieldPath) -> Option<Material> {
        let Some(found) = self.materials.get(name).cloned().or_else(|| material::built_in(name)) else {
            let problem = self.unknown_material(name, field);
            self.problems.push(problem);
            return None;
        };
        if !kinds.contains(&found.kind) {
            let fitting: Vec<&str> = material::built_in_names()
                .filter(|n| material::built_in(n).is_some_and(|m| kinds.contains(&m.kind)))
                .collect();
            self.refuse(
                field,
                format!("\"{name}\" cannot be used for this"),
                format!("use one of: {}", fitting.join(", ")),
            );
            return None;
        }
        Some(found)
    }

    // ── Coverings ─────────────────────────────────────────────────────────────────────────────

    fn covering(&mut self, covering: &schema::Covering, _: usize, field: &FieldPath) -> Option<Covering> {
        use MaterialKind::{Coating, Filling, Paste};
        let material = self.material(&covering.material, &[Coating, Paste, Filling], field.key("material"));
        let thickness = self.size(&covering.thickness, field.key("thickness"));
        let colour = self.maybe(covering.colour.as_ref(), |s, c| s.colour(c, field.key("colour")));
        let mut material = material?;
        material.colour = colour?.unwrap_or(material.colour);
        Some(Covering { material, thickness: thickness?, field: field.clone() })
    }

    /// Rolled icing goes outside: under a soft coat it could not be laid.
    fn refuse_hard_coverings(&mut self, coverings: &[Covering]) {
        for pair in coverings.windows(2) {
            if pair[1].material.kind == MaterialKind::Paste && pair[0].material.kind != MaterialKind::Paste {
                self.problems.push(
                    Diagnostic::warning(
                        pair[1].field.clone(),
                        format!("{} lies under {}", pair[1].material.name, pair[0].material.name),
                    )
                    .mend("coverings are listed from the outside in: icing first, then the coating under it"),
                );
            }
        }
    }

    // ── Stack ───────────────────────────────────────────────────────────────────────────────────

    fn footprint(
        &mut self,
        shape: Option<FootprintShape>,
        offset: Option<&[Length; 2]>,
        turn: Option<&Angle>,
        field: &FieldPath,
    ) -> Option<Footprint> {
        let centre = match offset {
            None => Some(DVec2::ZERO),
            Some(p) => self.point2(p, &field.key("offset")),
        };
        let turn = self.angle(turn, field.key("turn"));
        Some(Footprint { shape: shape?, centre: centre?, turn: turn? })
    }

    fn rectangle(&mut self, size: &[Size; 2], field: &FieldPath) -> Option<FootprintShape> {
        let width = self.size(&size[0], field.index(0));
        let depth = self.size(&size[1], field.index(1));
        Some(FootprintShape::Rectangle { width: width?, depth: depth? })
    }

    fn plain_shape(
        &mut self,
        (round, square, rectangle): (Option<&Size>, Option<&Size>, Option<&[Size; 2]>),
        field: &FieldPath,
    ) -> Option<FootprintShape> {
        if let Some(round) = round {
            return self.size(round, field.key("round")).map(|diameter| FootprintShape::Round { diameter });
        }
        if let Some(square) = square {
            let side = self.size(square, field.key("square"))?;
            return Some(FootprintShape::Rectangle { width: side, depth: side });
        }
        self.rectangle(rectangle?, &field.key("rectangle"))
    }

    fn board(&mut self, board: &schema::Board, field: &FieldPath) -> Option<Board> {
        let given = [
            ("round", board.round.is_some()),
            ("square", board.square.is_some()),
            ("rectangle", board.rectangle.is_some()),
        ];
        let kind = read_problem(exactly_one(&given, field), &mut self.problems);
        let sizes = (board.round.as_ref(), board.square.as_ref(), board.rectangle.as_ref());
        let shape = kind.and_then(|_| self.plain_shape(sizes, field));
        let footprint = self.footprint(shape, board.offset.as_ref(), board.turn.as_ref(), field);
        let thickness = self.size(&board.thickness, field.key("thickness"));
        let hole = self.maybe(board.hole.as_ref(), |s, h| s.size(h, field.key("hole")));
        let name = board.material.as_deref().unwrap_or("card board");
        let material = self.material(name, &[MaterialKind::Board], field.key("material"));
        let board = Board {
            footprint: footprint?,
            thickness: thickness?,
            hole: hole?.unwrap_or(0.0),
            material: material?,
            field: field.clone(),
        };
        let narrowest = match board.footprint.shape {
            FootprintShape::Round { diameter } => diameter,
            FootprintShape::Rectangle { width, depth } => width.min(depth),
        };
        if board.hole >= narrowest {
            self.refuse(
                field.key("hole"),
                "the hole is as wide as the board",
                "make the hole just wider than the centre dowel",
            );
            return None;
        }
        Some(board)
    }

    fn tier(&mut self, tier: &schema::Tier, _: usize, field: &FieldPath) -> Option<Tier> {
        let board = self.maybe(tier.board.as_ref(), |s, b| s.board(b, &field.key("board")));
        let dowels = self.maybe(tier.dowels.as_ref(), |s, d| s.dowels(d, &field.key("dowels")));
        let filling = self.maybe(tier.filling.as_ref(), |s, f| s.filling(f, &field.key("filling")));
        if tier.layers.is_empty() {
            self.refuse(
                field.clone(),
                format!("the tier \"{}\" has no layers", tier.name),
                "add a [[tier.layer]] with a pan and a height",
            );
        }
        let count = tier.layers.len();
        let layers: Vec<Option<Layer>> = (0..count)
            .map(|i| {
                let mut layer = self.layer(&tier.layers[i], tier, i, &field.key("layer").index(i))?;
                if layer.filling.is_none() && i + 1 < count {
                    layer.filling = filling.clone().flatten();
                }
                Some(layer)
            })
            .collect();
        Some(Tier {
            name: tier.name.clone(),
            board: board?,
            dowels: dowels?,
            layers: layers.into_iter().collect::<Option<_>>()?,
            field: field.clone(),
        })
    }

    fn layer(
        &mut self,
        layer: &schema::Layer,
        tier: &schema::Tier,
        i: usize,
        field: &FieldPath,
    ) -> Option<Layer> {
        use MaterialKind::{Dummy, Firm, Sponge};
        let pan = &layer.pan;
        let at = field.key("pan");
        let given = [
            ("round", pan.round.is_some()),
            ("square", pan.square.is_some()),
            ("rectangle", pan.rectangle.is_some()),
            ("half_ball", pan.half_ball.is_some()),
        ];
        let kind = read_problem(exactly_one(&given, &at), &mut self.problems);
        let half_ball = kind == Some("half_ball");
        if pan.dome.is_some() && !half_ball {
            self.refuse(at.key("dome"), "only a half-ball has a dome", "leave `dome` out");
        }
        let shape = if half_ball {
            let diameter = pan.half_ball.as_ref().and_then(|d| self.size(d, at.key("half_ball")));
            diameter.map(|diameter| FootprintShape::Round { diameter })
        } else {
            let sizes = (pan.round.as_ref(), pan.square.as_ref(), pan.rectangle.as_ref());
            kind.and_then(|_| self.plain_shape(sizes, &at))
        };
        let footprint = self.footprint(shape, layer.offset.as_ref(), layer.turn.as_ref(), field);
        let height = self.size(&layer.height, field.key("height"));
        let name = layer.material.as_deref().unwrap_or("sponge");
        let material = self.material(name, &[Sponge, Firm, Dummy], field.key("material"));
        let bottom = self.maybe(layer.bottom.as_ref(), |s, b| s.length(b, field.key("bottom")));
        let filling = self.maybe(layer.filling.as_ref(), |s, f| s.filling(f, &field.key("filling")));
        let (footprint, height) = (footprint?, height?);
        if let (true, FootprintShape::Round { diameter }) = (half_ball, footprint.shape)
            && height > diameter / 2.0
        {
            self.refuse(
                field.key("height"),
                format!(
                    "a half-ball of {diameter} mm is at most {} mm high, not {height} mm",
                    diameter / 2.0
                ),
                "give the levelled height, at most half the diameter",
            );
            return None;
        }
        Some(Layer {
            name: layer.name.clone().unwrap_or_else(|| format!("{} {}", tier.name, i + 1)),
            footprint,
            dome: half_ball.then(|| pan.dome.unwrap_or_default()),
            height,
            material: material?,
            bottom: bottom?,
            filling: filling?,
            field: field.clone(),
        })
    }

    fn filling(&mut self, filling: &schema::Filling, field: &FieldPath) -> Option<Filling> {
        use MaterialKind::{Coating, Filling as Soft, Paste};
        let material = self.material(&filling.material, &[Soft, Coating, Paste], field.key("material"));
        let thickness = self.size(&filling.thickness, field.key("thickness"));
        Some(Filling { material: material?, thickness: thickness?, field: field.clone() })
    }

    fn dowels(&mut self, dowels: &schema::Dowels, field: &FieldPath) -> Option<Dowels> {
        let diameter = self.size(&dowels.diameter, field.key("diameter"));
        let turn = self.angle(dowels.turn.as_ref(), field.key("turn"));
        let name = dowels.material.as_deref().unwrap_or("wooden dowel");
        let material = self.material(name, &[MaterialKind::Dowel], field.key("material"));
        let length = self.maybe(dowels.length.as_ref(), |s, l| s.size(l, field.key("length")));
        let given = [("circle", dowels.circle.is_some()), ("at", dowels.at.is_some())];
        let kind = read_problem(exactly_one(&given, field), &mut self.problems)?;
        let at: Vec<DVec2> = if kind == "circle" {
            let circle = self.size(dowels.circle.as_ref()?, field.key("circle"))?;
            let count = dowels.count.unwrap_or(0);
            if count == 0 || count > MOST_DOWELS {
                self.refuse(
                    field.clone(),
                    "how many dowels stand round the circle?",
                    format!("add count = 4, or another number up to {MOST_DOWELS}"),
                );
                return None;
            }
            let turn = turn?;
            let bearing = |i: u32| turn + 360.0 * f64::from(i) / f64::from(count);
            (0..count).map(|i| geom::revolve::at_bearing(circle / 2.0, 0.0, bearing(i)).truncate()).collect()
        } else {
            let at = field.key("at");
            let given = dowels.at.as_ref()?;
            if dowels.count.is_some_and(|count| count as usize != given.len()) {
                self.refuse(
                    field.key("count"),
                    format!("`at` places {} dowels", given.len()),
                    "leave `count` out",
                );
            }
            let points: Vec<Option<DVec2>> =
                given.iter().enumerate().map(|(i, p)| self.point2(p, &at.index(i))).collect();
            points.into_iter().collect::<Option<_>>()?
        };
        let (length, material) = (length?, material?);
        let wall = self.wall(dowels.wall.as_ref(), diameter?, &material, field)?;
        Some(Dowels { at, diameter: diameter?, wall, length, material, field: field.clone() })
    }

    fn centre_dowel(&mut self, dowel: &schema::CentreDowel, field: &FieldPath) -> Option<CentreDowel> {
        let diameter = self.size(&dowel.diameter, field.key("diameter"));
        let height = self.size(&dowel.height, field.key("height"));
        let name = dowel.material.as_deref().unwrap_or("wooden dowel");
        let material = self.material(name, &[MaterialKind::Dowel], field.key("material"));
        let (diameter, material) = (diameter?, material?);
        let wall = self.wall(dowel.wall.as_ref(), diameter, &material, field)?;
        let fast = dowel.fast.unwrap_or(true);
        Some(CentreDowel { diameter, wall, height: height?, fast, material, field: field.clone() })
    }

    /// Thickness of a dowel's wall; that of its material if none is given.
    fn wall(
        &mut self,
        given: Option<&Size>,
        diameter: f64,
        material: &Material,
        field: &FieldPath,
    ) -> Option<Option<f64>> {
        let own = material.dowel_stuff().and_then(|stuff| stuff.wall);
        let wall = self.maybe(given, |s, wall| s.size(wall, field.key("wall")))?;
        if wall.is_some_and(|wall| 2.0 * wall >= diameter) {
            self.refuse(
                field.key("wall"),
                "the wall is as thick as the dowel",
                "leave `wall` out for a solid dowel",
            );
            return None;
        }
        Some(wall.or(own).filter(|wall| 2.0 * wall < diameter))
    }

    fn limits(&mut self, limits: Option<&schema::Limits>, field: &FieldPath) -> Option<Limits> {
        let mut resolved = Limits::default();
        let Some(limits) = limits else { return Some(resolved) };
        let entries = [
            (&limits.spare, "spare", &mut resolved.spare),
            (&limits.overhang, "overhang", &mut resolved.overhang),
            (&limits.cover, "cover", &mut resolved.cover),
        ];
        for (given, key, limit) in entries {
            if let Some(value) = given {
                *limit = read!(self, value.to_mm(self.unit), field.key(key))?;
                if *limit < 0.0 {
                    self.problems.push(
                        Diagnostic::error(field.key(key), "a limit cannot be below zero")
                            .mend("0 switches it off"),
                    );
                }
            }
        }
        Some(resolved)
    }

    fn paper(&mut self, paper: Option<&schema::Paper>, field: &FieldPath) -> Option<Paper> {
        let mut resolved = Paper::usual(self.unit);
        let Some(paper) = paper else { return Some(resolved) };
        resolved.size = paper.size.unwrap_or(resolved.size);
        let entries = [
            (&paper.margin, "margin", &mut resolved.margin),
            (&paper.overlap, "overlap", &mut resolved.overlap),
            (&paper.pass, "pass", &mut resolved.pass),
            (&paper.ease, "ease", &mut resolved.ease),
        ];
        for (given, key, value) in entries {
            if let Some(given) = given {
                *value = read!(self, given.to_mm(self.unit), field.key(key))?;
            }
        }
        if let Some(excess) = &paper.excess {
            resolved.excess = self.length(excess, field.key("excess"))?;
        }
        match resolved.check() {
            Ok(()) => Some(resolved),
            Err(error) => {
                self.refuse(field.key(error.key()), error.to_string(), error.mend());
                None
            }
        }
    }

    // ── Trims ───────────────────────────────────────────────────────────────────────────────────

    fn trim(&mut self, trim: &schema::Trim, _: usize, field: &FieldPath) -> Option<Trim> {
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

    fn tool(&mut self, trim: &schema::Trim, operation: Option<Operation>, field: &FieldPath) -> Option<Tool> {
        let given = [
            ("box", trim.cuboid.is_some()),
            ("ball", trim.ball.is_some()),
            ("cylinder", trim.cylinder.is_some()),
            ("ring", trim.ring.is_some()),
            ("bar", trim.bar.is_some()),
            ("half_space", trim.half_space.is_some()),
            ("outline", trim.outline.is_some()),
        ];
        let kind = read_problem(exactly_one(&given, field), &mut self.problems)?;
        let at = field.key(kind);
        match kind {
            "box" => self.box_tool(trim.cuboid.as_ref()?, &at),
            "ball" => {
                let ball = trim.ball.as_ref()?;
                let centre = self.point3(&ball.centre, &at.key("centre"));
                let diameter = self.size(&ball.diameter, at.key("diameter"));
                Some(Tool::Ball { centre: centre?, radius: diameter? / 2.0 })
            }
            "cylinder" => self.cylinder_tool(trim.cylinder.as_ref()?, &at),
            "ring" => self.ring_tool(trim.ring.as_ref()?, &at),
            "bar" => self.bar_tool(trim.bar.as_ref()?, &at),
            "half_space" => {
                let half = trim.half_space.as_ref()?;
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
            _ => self.relief(trim.outline.as_ref()?, &at).map(Tool::Relief),
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

fn read_problem<T>(value: Result<T, Diagnostic>, problems: &mut Vec<Diagnostic>) -> Option<T> {
    value.map_err(|problem| problems.push(problem)).ok()
}
