//! Puts pieces on the stage of a Bevy world: meshes, materials, ground and outlines. The window and
//! the pictures build their scenes here, so both show the same.

use bevy::{
    camera::visibility::NoFrustumCulling, gizmos::GizmoAsset, gizmos::config::GizmoLineConfig,
    gizmos::retained::Gizmo, light::NotShadowCaster, prelude::*,
};
use glam::DVec3;
use rayon::prelude::*;

use super::{
    Look, Piece, Staging, convert,
    fit::Lightened,
    scale::DepthScale,
    skin::{CakeMaterial, Palette, strip},
};
use formats::model::Rgb;

/// The colour behind and under the cake, in the light.
pub const GROUND: Rgb = Rgb(222, 225, 229);

/// How far shadows on the ground reach from the axis, in diagonals of the stage.
const SHADOW_REACH: f64 = 1.1;

/// Everything on the stage carries this, so that the stage can be cleared.
#[derive(Component)]
pub struct OnStage;

/// A piece and its place in [`Staging::pieces`].
#[derive(Component, Clone, Copy, Debug, PartialEq, Eq)]
pub struct PieceIndex(pub usize);

/// The ground under the cake.
#[derive(Component)]
pub struct Ground;

/// What the stage is dressed with beyond its pieces.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dressing {
    /// The depth scale.
    pub scale: DepthScale,
    /// Width of a fine line, pixels.
    pub line_width: f32,
    /// Colour of the ground; none for a transparent picture.
    pub ground: Option<Rgb>,
    /// Height of the ground, mm.
    pub floor: f64,
}

/// The assets that a stage waits for before it can be drawn.
#[derive(Debug, Default, Clone)]
pub struct StageAssets {
    /// Meshes.
    pub meshes: Vec<AssetId<Mesh>>,
    /// Materials.
    pub materials: Vec<AssetId<CakeMaterial>>,
}

/// Pieces made ready for the graphics card. Making them is the slow part and needs no world, so the
/// window does it in the background.
pub struct Prepared {
    /// What is on the stage.
    pub staging: Staging,
    /// What was too big for the card, and what became of it.
    pub lightened: Lightened,
    meshes: Vec<Mesh>,
    outlines: Vec<GizmoAsset>,
}

impl Prepared {
    /// Makes meshes with no buffer larger than `limit` bytes, and outlines for ghosts.
    pub fn of(staging: Staging, limit: u64) -> Self {
        let drawn = staging.pieces.par_iter().map(|piece| convert::mesh(&piece.surface, limit));
        let (meshes, lightened): (Vec<Mesh>, Vec<Lightened>) = drawn.unzip();
        let lightened = lightened.into_iter().fold(Lightened::default(), Lightened::and);
        let ghosts = staging.pieces.iter().filter(|piece| piece.look == Look::Ghost);
        let outlines = ghosts.map(outline).collect();
        Self { staging, lightened, meshes, outlines }
    }
}

/// Clears the stage and sets it anew. Returns what was set and what has to arrive on the card first.
pub fn set_stage(world: &mut World, prepared: Prepared, dressing: &Dressing) -> (Staging, StageAssets) {
    clear_stage(world);
    let strip = world.resource_mut::<Assets<Image>>().add(strip());
    let palette = Palette { scale: dressing.scale, line_width: dressing.line_width, strip };
    let mut assets = StageAssets::default();
    let Prepared { staging, meshes, outlines, .. } = prepared;
    for (index, (piece, mesh)) in staging.pieces.iter().zip(meshes).enumerate() {
        let entity = place(world, &mut assets, mesh, palette.material(piece.look, piece.colour));
        let mut entity = world.entity_mut(entity);
        entity.insert(PieceIndex(index));
        if piece.look == Look::Ghost {
            entity.insert(NotShadowCaster);
        }
    }
    for lines in outlines {
        let handle = world.resource_mut::<Assets<GizmoAsset>>().add(lines);
        let line_config = GizmoLineConfig { width: 1.3 * dressing.line_width, ..default() };
        world.spawn((OnStage, Gizmo { handle, line_config, depth_bias: -0.0005 }, NoFrustumCulling));
    }
    if let Some(colour) = dressing.ground {
        let reach = staging.bounds().map_or(0.0, |(lo, hi)| SHADOW_REACH * (hi - lo).length());
        let material = palette.ground(colour, convert::length(reach));
        let entity = place(world, &mut assets, ground(), material);
        let height = Transform::from_translation(convert::place(DVec3::Z * dressing.floor));
        world.entity_mut(entity).insert((height, NotShadowCaster, Ground));
    }
    (staging, assets)
}

/// A level disc that reaches beyond the edges of any picture.
fn ground() -> Mesh {
    let disc = Mesh::from(Circle::new(convert::length(20_000.0)));
    let level = disc.rotated_by(Quat::from_rotation_x(-std::f32::consts::FRAC_PI_2));
    let no_depth = vec![[0.0f32; 2]; level.count_vertices()];
    level.with_inserted_attribute(Mesh::ATTRIBUTE_UV_0, no_depth)
}

/// Takes everything off the stage.
pub fn clear_stage(world: &mut World) {
    let old: Vec<Entity> = world.query_filtered::<Entity, With<OnStage>>().iter(world).collect();
    for entity in old {
        world.despawn(entity);
    }
}

fn place(world: &mut World, assets: &mut StageAssets, mesh: Mesh, material: CakeMaterial) -> Entity {
    let mesh = world.resource_mut::<Assets<Mesh>>().add(mesh);
    let material = world.resource_mut::<Assets<CakeMaterial>>().add(material);
    assets.meshes.push(mesh.id());
    assets.materials.push(material.id());
    world.spawn((OnStage, Mesh3d(mesh), MeshMaterial3d(material))).id()
}

/// The sharp edges of a piece as thin lines: they make a ghost readable.
fn outline(piece: &Piece) -> GizmoAsset {
    let mut lines = GizmoAsset::default();
    for [a, b] in piece.surface.creases() {
        lines.line(convert::place(a), convert::place(b), Color::srgba(0.36, 0.27, 0.20, 0.75));
    }
    lines
}
