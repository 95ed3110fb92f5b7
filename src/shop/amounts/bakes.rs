//! Bakes and oven loads of the layers of a plan.

use serde::{Serialize, Serializer};

use plan::{
    Plan,
    design::{FootprintShape, MaterialKind},
    pantry::{Pan, PanShape, Pantry, Slab, Trouble, by_pan, loads_needed, pack},
    stack::{self, LaidPiece, SheetCake, SlabKind, sheet_cakes},
};

/// Bakes of one recipe in pans of one size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BakeGroup {
    /// The pan.
    #[serde(serialize_with = "pan_name")]
    pub pan: Pan,
    /// Whether it is in the pantry.
    pub owned: bool,
    /// What is baked.
    pub material: String,
    /// Batter for each bake.
    pub batter_g: f64,
    /// Volume of that, where the recipe gives its density.
    pub batter_ml: Option<f64>,
    /// What is cut from each bake.
    pub bakes: Vec<Baked>,
    /// What is baked and not cut into a layer.
    pub rest_g: f64,
}

/// One bake.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Baked {
    /// Layers and their heights.
    pub layers: Vec<(String, f64)>,
    /// Letters of the pieces that it is cut into; none where whole layers are cut from it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub pieces: Vec<String>,
}

fn pan_name<S: Serializer>(pan: &Pan, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&pan.shape.name(geom::units::Unit::Millimetre))
}

/// The pan that a whole slab was baked in; `None` for one that is laid of pieces.
fn shape(slab: &stack::Slab) -> Option<PanShape> {
    Some(match (&slab.footprint.shape, slab.dome) {
        (FootprintShape::Round { diameter }, Some(_)) => PanShape::HalfBall(*diameter),
        (FootprintShape::Round { diameter }, None) => PanShape::Round(*diameter),
        (FootprintShape::Rectangle { width, depth }, _) => PanShape::Rectangle(*width, *depth),
        (FootprintShape::Pieces(_), _) => return None,
    })
}

/// What is baked in pans of one size of one material: whole slabs, and sheet cakes to be cut into pieces.
struct Wanted {
    pan: PanShape,
    material: String,
    density: f64,
    slabs: Vec<Slab>,
    sheets: Vec<SheetCake>,
}

fn wanted_of<'a>(
    all: &'a mut Vec<Wanted>,
    pan: PanShape,
    material: &plan::design::Material,
) -> &'a mut Wanted {
    let known = all.iter().position(|wanted| wanted.pan.is(pan) && wanted.material == material.name);
    let at = known.unwrap_or_else(|| {
        let (material, density) = (material.name.clone(), material.density);
        all.push(Wanted { pan, material, density, slabs: Vec::new(), sheets: Vec::new() });
        all.len() - 1
    });
    &mut all[at]
}

/// Every bake of `plan`; what the pantry does not fit is told.
pub fn bakes(plan: &Plan, pantry: &Pantry, findings: &mut Vec<Trouble>) -> Vec<BakeGroup> {
    let mut all: Vec<Wanted> = Vec::new();
    for slab in &plan.stack.slabs {
        if slab.kind != SlabKind::Layer || slab.material.kind != MaterialKind::Sponge {
            continue;
        }
        let cut = Slab { name: slab.name.clone(), height: slab.height() };
        if let Some(shape) = shape(slab) {
            wanted_of(&mut all, shape, &slab.material).slabs.push(cut);
        }
    }
    for sheet in sheet_cakes(&plan.stack, pantry) {
        if sheet.material.kind == MaterialKind::Sponge {
            let pan = PanShape::Rectangle(sheet.pan[0], sheet.pan[1]);
            let material = sheet.material.clone();
            wanted_of(&mut all, pan, &material).sheets.push(sheet);
        }
    }
    all.into_iter().map(|wanted| group(wanted, plan, pantry, findings)).collect()
}

fn group(wanted: Wanted, plan: &Plan, pantry: &Pantry, findings: &mut Vec<Trouble>) -> BakeGroup {
    let Wanted { pan: shape, material, density, slabs, sheets } = wanted;
    let sheet_heights = sheets.iter().map(|sheet| sheet.height(&plan.stack));
    let highest = slabs.iter().map(|slab| slab.height).chain(sheet_heights).fold(0.0, f64::max);
    let owned = pantry.pan(shape);
    let name = shape.name(plan.design.unit);
    if owned.is_none() {
        findings.push(Trouble {
            code: "pan-not-owned", about: plan::pantry::About::Pan(shape),
            message: format!("the pantry has no pan {name}"),
            fix: "add it to the pantry with its depth, level and count ([[pantry.pan]]); until then every layer in it \
                   is counted as a bake of its own"
                .into(),
        });
    }
    let pan = owned.copied().unwrap_or(Pan { shape, depth: highest, level: highest, count: 1 });
    if highest > pan.level + 1e-6 {
        findings.push(Trouble {
            code: "layer-too-high", about: plan::pantry::About::Pan(shape),
            message: format!(
                "a layer {highest:.0} mm high cannot be cut from a bake out of {name} that stands {:.0} mm levelled",
                pan.level
            ),
            fix: "make the layer lower, or write down the level that your pan really gives".into(),
        });
    }
    let recipe = pantry.recipe(&material);
    if let (Some(fill), Some(rise)) = (recipe.fill(), recipe.rise)
        && owned.is_some()
        && !matches!(pan.shape, PanShape::HalfBall(_))
        && fill * rise * pan.depth < pan.level - 1e-6
    {
        findings.push(Trouble {
            code: "rises-too-little", about: plan::pantry::About::Pan(shape),
            message: format!(
                "{material} filled to {:.0} % of {name} rises to {:.0} mm, not to the {:.0} mm that the pantry counts on",
                100.0 * fill,
                fill * rise * pan.depth,
                pan.level
            ),
            fix: format!(
                "fill the pan further, or write down the level and the rise that you measure ([pantry.recipe.\"{material}\"] rise)"
            ),
        });
    }
    let packed = pack(&slabs, pan.level);
    let batter_g = recipe.batter(&pan, density);
    let in_pieces: f64 = sheets.iter().map(|sheet| sheet.used(&plan.stack)).sum();
    let used = slabs.iter().map(|slab| pan.volume(slab.height)).sum::<f64>() + in_pieces;
    let baked = pan.volume(pan.level) * (packed.len() + sheets.len()) as f64;
    let whole = packed.into_iter().map(|bake| Baked {
        layers: bake.slabs.into_iter().map(|slab| (slab.name, slab.height)).collect(),
        pieces: Vec::new(),
    });
    let bakes = whole.chain(sheets.iter().map(|sheet| cut_up(sheet, plan))).collect();
    BakeGroup {
        pan,
        owned: owned.is_some(),
        batter_g,
        batter_ml: recipe.batter_density.map(|density| batter_g / density),
        bakes,
        rest_g: ((baked - used) / 1000.0 * density).max(0.0),
        material,
    }
}

/// A sheet cake, with the layers that its pieces are laid into.
fn cut_up(sheet: &SheetCake, plan: &Plan) -> Baked {
    let laid = sheet.pieces.iter().flat_map(|place| &place.pieces);
    let mut slabs: Vec<usize> = laid.clone().map(|piece| piece.slab).collect();
    slabs.sort_unstable();
    slabs.dedup();
    let layer = |slab: usize| {
        let slab = &plan.stack.slabs[slab];
        (slab.name.clone(), slab.height())
    };
    let mut pieces: Vec<LaidPiece> = laid.copied().collect();
    pieces.sort_by_key(|piece| (piece.slab, piece.piece));
    Baked {
        layers: slabs.into_iter().map(layer).collect(),
        pieces: pieces.iter().map(LaidPiece::letter).collect(),
    }
}

/// What is in the oven at once.
#[derive(Debug, Clone, PartialEq)]
pub struct OvenLoad {
    /// How many bakes.
    pub bakes: usize,
    /// Of what.
    pub materials: Vec<String>,
    /// Minutes until the last of them is done, where recipes say them.
    pub minutes: Option<f64>,
    /// Temperature of the oven without its fan, °C, where recipes say it.
    pub temperature: Option<f64>,
}

/// Oven loads of `bakes`: recipes that bake at one temperature together, those that take longest first.
pub fn oven_loads(bakes: &[BakeGroup], pantry: &Pantry) -> Vec<OvenLoad> {
    let temperature = |group: &BakeGroup| pantry.recipe(&group.material).temperature;
    let mut temperatures: Vec<Option<f64>> = Vec::new();
    for group in bakes {
        if !temperatures.contains(&temperature(group)) {
            temperatures.push(temperature(group));
        }
    }
    let mut loads = Vec::new();
    for at in temperatures {
        let groups: Vec<&BakeGroup> = bakes.iter().filter(|group| temperature(group) == at).collect();
        let pans = by_pan(groups.iter().map(|group| (group.pan, group.bakes.len() as u32)));
        let count =
            loads_needed(pans.iter().map(|(pan, count)| (pan, *count)), pantry.at_once).max(1) as usize;
        let mut single: Vec<(&str, Option<f64>)> = groups
            .iter()
            .flat_map(|group| {
                let minutes = pantry.recipe(&group.material).minutes_in(&group.pan);
                group.bakes.iter().map(move |_| (group.material.as_str(), minutes))
            })
            .collect();
        single.sort_by(|a, b| b.1.unwrap_or(0.0).total_cmp(&a.1.unwrap_or(0.0)));
        // As even as whole bakes allow, so that there are as many loads as are needed.
        for i in 0..count.min(single.len()) {
            let (from, to) = (i * single.len() / count, (i + 1) * single.len() / count);
            let load = &single[from..to.max(from + 1).min(single.len())];
            let mut materials: Vec<String> =
                load.iter().map(|(material, _)| (*material).to_owned()).collect();
            materials.dedup();
            loads.push(OvenLoad {
                bakes: load.len(),
                materials,
                minutes: load.iter().filter_map(|(_, minutes)| *minutes).reduce(f64::max),
                temperature: at,
            });
        }
    }
    loads
}

/// How many oven loads `bakes` take.
pub fn loads(bakes: &[BakeGroup], pantry: &Pantry) -> u32 {
    oven_loads(bakes, pantry).len() as u32
}
