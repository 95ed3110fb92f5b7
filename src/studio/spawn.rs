//! Spawns a scene into a Bevy world: meshes, materials, ground and outlines. The window and the pictures
//! both spawn their scenes here, so both show the same.

use bevy::{
    camera::visibility::NoFrustumCulling, gizmos::GizmoAsset, gizmos::config::GizmoLineConfig,
    gizmos::retained::Gizmo, light::NotShadowCaster, prelude::*,
};
use glam::DVec3;
use rayon::prelude::*;

use super::{
    Look, Piece, Scene,
    cake_material::{CakeMaterial, Ground, SceneMaterials, depth_scale_texture},
    convert,
    scale::DepthScale,
    simplify::{self, Simplified, Split},
    still_light::{self, StillLight},
};
use formats::model::Rgb;
use geom::{Cancel, Cancelled};

/// The colour behind and under the cake, in the light.
pub const GROUND_COLOUR: Rgb = Rgb(232, 228, 222);

/// How far shadows on the ground reach from the axis, in diagonals of the scene.
const SHADOW_REACH: f64 = 1.1;

/// Every entity of the scene carries this, so that all of them can be despawned.
#[derive(Component)]
pub struct SceneEntity;

/// A piece and its place in [`Scene::pieces`].
#[derive(Component, Clone, Copy, Debug, PartialEq, Eq)]
pub struct PieceIndex(pub usize);

/// The ground under the cake.
#[derive(Component)]
pub struct GroundPlane;

/// How a scene is drawn, beyond its pieces.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SceneStyle {
    /// The depth scale.
    pub scale: DepthScale,
    /// Width of a fine line, pixels.
    pub line_width: f32,
    /// The ground; none for the cake alone.
    pub ground: Option<Ground>,
    /// Height of the ground, mm.
    pub floor: f64,
}

/// The assets that have to be on the graphics card before a scene can be drawn.
#[derive(Debug, Default, Clone)]
pub struct SceneAssets {
    /// Meshes.
    pub meshes: Vec<AssetId<Mesh>>,
    /// Materials.
    pub materials: Vec<AssetId<CakeMaterial>>,
}

/// A scene with its meshes. Making them is the slow part and needs no Bevy world, so the window does it on
/// a worker thread.
#[derive(Clone)]
pub struct PreparedScene {
    /// The scene.
    pub scene: Scene,
    /// What was too big for the card and so is drawn with fewer triangles.
    pub simplified: Simplified,
    meshes: Vec<Mesh>,
    /// The ground with the light on it.
    ground: Option<Mesh>,
    outlines: Vec<GizmoAsset>,
}

/// How far from the axis shadows on the ground reach, mm.
fn reach(scene: &Scene) -> f64 {
    scene.bounds().map_or(0.0, |(lo, hi)| SHADOW_REACH * (hi - lo).length())
}

impl PreparedScene {
    /// Makes meshes with no buffer larger than `limit` bytes, and outlines for ghosts; for a picture, with the soft
    /// light at each vertex.
    ///
    /// # Errors
    /// [`Cancelled`] when asked to stop.
    pub fn new(
        scene: Scene,
        limit: u64,
        still: Option<&StillLight>,
        cancel: &Cancel,
    ) -> Result<Self, Cancelled> {
        let split = |piece: &Piece| {
            cancel.check()?;
            let refined =
                still.filter(|_| piece.look != Look::Ghost).map(|still| still.refined(&piece.surface));
            Ok(simplify::split_within(refined.as_ref().unwrap_or(&piece.surface), scene.on_grid, limit))
        };
        let drawn: Vec<(Split, Simplified)> = scene.pieces.par_iter().map(split).collect::<Result<_, _>>()?;
        let (splits, simplified): (Vec<Split>, Vec<Simplified>) = drawn.into_iter().unzip();
        let simplified = simplified.into_iter().fold(Simplified::default(), Simplified::and);
        let ghosts = scene.pieces.iter().filter(|piece| piece.look == Look::Ghost);
        let outlines = ghosts.map(outline).collect();
        let (mut ground, mut lights) = (None, vec![None; splits.len()]);
        if let Some(still) = still {
            let reach = reach(&scene);
            let (of_pieces, of_ground) = still.light(&scene.pieces, &splits, reach, cancel)?;
            lights = of_pieces;
            ground = Some(convert::mesh(still.ground(reach), Some(of_ground)));
        }
        let meshes =
            splits.into_iter().zip(lights).map(|(split, light)| convert::mesh(split, light)).collect();
        Ok(Self { scene, simplified, meshes, ground, outlines })
    }
}

impl PreparedScene {
    /// Whether its soft light is worked out.
    pub fn is_lit(&self) -> bool {
        self.ground.is_some()
    }
}

/// Replaces the scene in the world. Returns the new one and the assets to wait for.
pub fn spawn_scene(
    world: &mut World,
    prepared: PreparedScene,
    scene_style: &SceneStyle,
) -> (Scene, SceneAssets) {
    despawn_scene(world);
    let depth_scale = world.resource_mut::<Assets<Image>>().add(depth_scale_texture());
    let PreparedScene { scene, meshes, ground, outlines, .. } = prepared;
    let foot = scene.cake.map_or(f32::MIN, |(low, _)| convert::length(low.z));
    let SceneStyle { scale, line_width, .. } = *scene_style;
    let materials = SceneMaterials { scale, line_width, depth_scale, foot };
    let mut assets = SceneAssets::default();
    for (index, (piece, mesh)) in scene.pieces.iter().zip(meshes).enumerate() {
        let entity = spawn_mesh(world, &mut assets, mesh, materials.material(piece));
        let mut entity = world.entity_mut(entity);
        entity.insert(PieceIndex(index));
        if piece.look == Look::Ghost {
            entity.insert(NotShadowCaster);
        }
    }
    for lines in outlines {
        let handle = world.resource_mut::<Assets<GizmoAsset>>().add(lines);
        let line_config = GizmoLineConfig { width: 1.3 * scene_style.line_width, ..default() };
        world.spawn((SceneEntity, Gizmo { handle, line_config, depth_bias: -0.0005 }, NoFrustumCulling));
    }
    if let Some(kind) = scene_style.ground {
        let material = materials.ground(kind, convert::length(reach(&scene)));
        let mesh = ground.unwrap_or_else(|| ground_disc(scene_style.floor));
        let entity = spawn_mesh(world, &mut assets, mesh, material);
        world.entity_mut(entity).insert((NotShadowCaster, GroundPlane));
    }
    (scene, assets)
}

/// Highlights one piece of the scene, by its place among them, and no other.
pub fn highlight(world: &mut World, piece: Option<usize>) {
    let mut pieces = world.query::<(&PieceIndex, &MeshMaterial3d<CakeMaterial>)>();
    let all: Vec<(bool, Handle<CakeMaterial>)> =
        pieces.iter(world).map(|(index, material)| (Some(index.0) == piece, material.0.clone())).collect();
    let mut materials = world.resource_mut::<Assets<CakeMaterial>>();
    for (is_it, handle) in all {
        if let Some(mut material) = materials.get_mut(&handle) {
            material.uniforms.highlight = f32::from(u8::from(is_it));
        }
    }
}

/// A level disc at this height (mm) that reaches beyond the edges of any picture.
fn ground_disc(height: f64) -> Mesh {
    let disc = Mesh::from(Circle::new(convert::length(still_light::FAR)));
    let level = disc.rotated_by(Quat::from_rotation_x(-std::f32::consts::FRAC_PI_2));
    let level = level.translated_by(convert::point(DVec3::Z * height));
    let no_depth = vec![[0.0f32; 2]; level.count_vertices()];
    level.with_inserted_attribute(Mesh::ATTRIBUTE_UV_0, no_depth)
}

/// Despawns the pieces of the scene and their outlines; the ground stays.
pub fn despawn_pieces(world: &mut World) {
    let pieces = world.query_filtered::<Entity, (With<SceneEntity>, Without<GroundPlane>)>();
    despawn(world, pieces);
}

/// Despawns all of the scene.
pub fn despawn_scene(world: &mut World) {
    let all = world.query_filtered::<Entity, With<SceneEntity>>();
    despawn(world, all);
}

fn despawn<F: bevy::ecs::query::QueryFilter>(world: &mut World, mut entities: QueryState<Entity, F>) {
    let entities: Vec<Entity> = entities.iter(world).collect();
    for entity in entities {
        world.despawn(entity);
    }
}

fn spawn_mesh(world: &mut World, assets: &mut SceneAssets, mesh: Mesh, material: CakeMaterial) -> Entity {
    let mesh = world.resource_mut::<Assets<Mesh>>().add(mesh);
    let material = world.resource_mut::<Assets<CakeMaterial>>().add(material);
    assets.meshes.push(mesh.id());
    assets.materials.push(material.id());
    world.spawn((SceneEntity, Mesh3d(mesh), MeshMaterial3d(material))).id()
}

/// The sharp edges of a piece as thin lines: without them the shape of a ghost is hard to see.
fn outline(piece: &Piece) -> GizmoAsset {
    let mut lines = GizmoAsset::default();
    for [a, b] in piece.surface.creases() {
        lines.line(convert::point(a), convert::point(b), Color::srgba(0.36, 0.27, 0.20, 0.75));
    }
    lines
}
