//! The material of every mesh in the scene: a Bevy material shaded by `shaders/cake.wgsl`.

use std::path::Path;

use bevy::{
    asset::{RenderAssetUsages, io::embedded::EmbeddedAssetRegistry},
    image::Image,
    pbr::MaterialPlugin,
    prelude::*,
    reflect::TypePath,
    render::{
        RenderApp,
        mesh::allocator::MeshAllocatorSettings,
        render_resource::{AsBindGroup, Extent3d, ShaderType, TextureDimension, TextureFormat},
        renderer::RenderDevice,
    },
    shader::{Shader, ShaderRef},
};

use super::{
    Look, Piece, convert, lamps,
    scale::{self, DepthScale},
};
use formats::{model::Rgb, tint::ALL_OVER};

/// The WGSL files, by name, as they are built into the program.
pub const SHADERS: [(&str, &str); 4] = [
    ("crumb.wgsl", include_str!("../../shaders/crumb.wgsl")),
    ("contour.wgsl", include_str!("../../shaders/contour.wgsl")),
    ("light.wgsl", include_str!("../../shaders/light.wgsl")),
    ("cake.wgsl", include_str!("../../shaders/cake.wgsl")),
];

/// The material of a piece of the cake or of the ground.
#[derive(Asset, AsBindGroup, TypePath, Debug, Clone)]
pub struct CakeMaterial {
    /// The uniform block.
    #[uniform(0)]
    pub uniforms: CakeUniforms,
    /// The colours of the bands of depth, one texel each, linear.
    #[texture(1, filterable = false)]
    pub depth_scale: Handle<Image>,
    /// Whether it is blended over what is behind it.
    pub blended: bool,
}

/// The uniform block; must agree with `CakeUniforms` in `shaders/cake.wgsl`. Colours are linear.
#[derive(Debug, Clone, Copy, PartialEq, ShaderType)]
pub struct CakeUniforms {
    /// The piece's own colour.
    pub colour: Vec4,
    /// Colour of shortfall.
    pub shortfall: Vec4,
    /// Depths at which one band of colour gives way to the next, mm.
    pub edges: Vec4,
    /// The number of its [`Look`], or [`GROUND_LOOK`].
    pub look: u32,
    /// Depth between fine lines, mm.
    pub fine_line: f32,
    /// Width of a fine line, pixels.
    pub line_width: f32,
    /// Millimetres in one scene unit.
    pub mm_per_unit: f32,
    /// How far it is highlighted because it is pointed at, 0 to 1.
    pub highlight: f32,
    /// Roughness, from 0 (mirror) to 1 (matt).
    pub roughness: f32,
    /// Specular reflectance at normal incidence, 0 to 1.
    pub reflectance: f32,
    /// Radiance of the ceiling as an even light, share of full white.
    pub ceiling: f32,
    /// Radiance of the light from below, share of full white.
    pub bounce: f32,
    /// How far from the axis shadows on the ground reach, scene units.
    pub reach: f32,
    /// Height of the foot of the cake, scene units.
    pub foot: f32,
    /// How much of its outside is crust, 0 to 1.
    pub crust: f32,
    /// What is painted or brushed on: each with its colour and how much it hides where it is full.
    pub tints: [Vec4; MOST_TINTS],
    /// For each of them the heights at which it is full and gone, mm above the foot, and how far it mirrors like
    /// metal.
    pub fades: [Vec4; MOST_TINTS],
}

/// The most tints of a piece.
const MOST_TINTS: usize = 4;

/// The number of the ground's look in the shader; the other numbers follow [`Look`]'s order.
const GROUND_LOOK: u32 = 8;

/// That of a ground of which only the shadows are drawn.
const GROUND_SHADOW_LOOK: u32 = 9;

impl Material for CakeMaterial {
    fn fragment_shader() -> ShaderRef {
        ShaderRef::Path("embedded://crumbline/shaders/cake.wgsl".into())
    }

    fn alpha_mode(&self) -> AlphaMode {
        if self.blended { AlphaMode::Blend } else { AlphaMode::Opaque }
    }
}

/// What lies under the cake.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ground {
    /// A plain ground of this colour.
    Plain(Rgb),
    /// Only the shadows that fall on one: a picture to lay over anything.
    Shadow,
}

/// Makes the materials of one scene; they share the depth scale.
#[derive(Debug, Clone)]
pub struct SceneMaterials {
    /// The depth scale in use.
    pub scale: DepthScale,
    /// Width of a fine line, pixels.
    pub line_width: f32,
    /// The texture of [`depth_scale_texture`].
    pub depth_scale: Handle<Image>,
    /// Height of the foot of the cake, scene units.
    pub foot: f32,
}

impl SceneMaterials {
    /// The material of a piece.
    pub fn material(&self, piece: &Piece) -> CakeMaterial {
        let mut material = self.opaque(piece.look as u32, piece.colour);
        material.blended = piece.look == Look::Ghost;
        material.uniforms.crust = f32::from(u8::from(piece.crust));
        for (i, tint) in piece.tints.iter().take(MOST_TINTS).enumerate() {
            let [full, gone] = tint.fade.unwrap_or(ALL_OVER);
            material.uniforms.tints[i] = linear(tint.colour).with_w(tint.opacity as f32);
            material.uniforms.fades[i] = Vec4::new(full as f32, gone as f32, tint.metal as f32, 0.0);
        }
        if piece.under_cake {
            // Its icing ends at its edge, and is not turned in at the foot of the cake.
            material.uniforms.foot = f32::MIN;
        }
        material
    }

    /// The material of the ground; shadows on it reach this far from the axis, scene units.
    pub fn ground(&self, ground: Ground, reach: f32) -> CakeMaterial {
        let (look, colour) = match ground {
            Ground::Plain(colour) => (GROUND_LOOK, colour),
            Ground::Shadow => (GROUND_SHADOW_LOOK, Rgb(0, 0, 0)),
        };
        let mut material = self.opaque(look, colour);
        material.blended = ground == Ground::Shadow;
        material.uniforms.reach = reach;
        material
    }

    fn opaque(&self, look: u32, colour: Rgb) -> CakeMaterial {
        let uniforms = CakeUniforms {
            colour: linear(colour),
            shortfall: linear(scale::SHORTFALL),
            edges: Vec4::from_array(self.scale.edges.map(|edge| edge as f32)),
            look,
            fine_line: self.scale.fine_line as f32,
            line_width: self.line_width,
            mm_per_unit: convert::MM_PER_UNIT as f32,
            highlight: 0.0,
            roughness: if look == Look::Icing as u32 { 0.40 } else { 0.5 },
            reflectance: 0.045,
            ceiling: lamps::CEILING as f32,
            bounce: lamps::BOUNCE as f32,
            reach: 0.0,
            foot: self.foot,
            crust: 0.0,
            tints: [Vec4::ZERO; MOST_TINTS],
            fades: [Vec4::new(ALL_OVER[0] as f32, ALL_OVER[1] as f32, 0.0, 0.0); MOST_TINTS],
        };
        CakeMaterial { uniforms, depth_scale: self.depth_scale.clone(), blended: false }
    }
}

/// An sRGB colour as linear light.
pub fn linear(colour: Rgb) -> Vec4 {
    let linear = colour_of(colour).to_linear();
    Vec4::new(linear.red, linear.green, linear.blue, 1.0)
}

/// An sRGB colour as Bevy has it.
pub fn colour_of(Rgb(r, g, b): Rgb) -> Color {
    Color::srgb_u8(r, g, b)
}

/// The bands of depth as a texture one texel high, one texel each, shallow to deep.
pub fn depth_scale_texture() -> Image {
    let texels = scale::linear_table();
    Image::new(
        Extent3d { width: texels.len() as u32, height: 1, depth_or_array_layers: 1 },
        TextureDimension::D2,
        texels.iter().flatten().flat_map(|c| c.to_le_bytes()).collect(),
        TextureFormat::Rgba32Float,
        RenderAssetUsages::RENDER_WORLD,
    )
}

/// Embeds the shaders and registers the material.
pub struct CakeMaterialPlugin;

/// Keeps the shaders that others import from being dropped.
#[derive(Resource)]
struct ShaderLibrary(#[expect(dead_code, reason = "held, not read")] Vec<Handle<Shader>>);

impl Plugin for CakeMaterialPlugin {
    fn build(&self, app: &mut App) {
        let registry = app.world().resource::<EmbeddedAssetRegistry>();
        let path = |name: &str| Path::new("crumbline/shaders").join(name);
        for (name, text) in SHADERS {
            registry.insert_asset(path(name), &path(name), text.as_bytes());
        }
        let server = app.world().resource::<AssetServer>();
        let load = |(name, _): &(&str, &str)| server.load(format!("embedded://crumbline/shaders/{name}"));
        let library = SHADERS.iter().map(load).collect();
        app.insert_resource(ShaderLibrary(library)).add_plugins(MaterialPlugin::<CakeMaterial>::default());
    }

    /// Meshes share buffers; those must not grow past the largest that the card takes.
    fn finish(&self, app: &mut App) {
        let Some(render) = app.get_sub_app_mut(RenderApp) else { return };
        let Some(device) = render.world().get_resource::<RenderDevice>() else { return };
        let limit = device.limits().max_buffer_size;
        if let Some(mut shared) = render.world_mut().get_resource_mut::<MeshAllocatorSettings>() {
            shared.max_slab_size = shared.max_slab_size.min(limit);
            shared.large_threshold = shared.large_threshold.min(limit / 2);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rust's block and the shader's must have the same size, or every value after the slip is wrong.
    #[test]
    fn the_uniform_block_has_the_same_size_and_fields_on_both_sides() {
        let shader = SHADERS.iter().find(|(name, _)| *name == "cake.wgsl").unwrap().1;
        let start = shader.find("struct CakeUniforms {").unwrap();
        let block = &shader[start..start + shader[start..].find('}').unwrap() + 1];
        let module = naga::front::wgsl::parse_str(block).unwrap();
        let (_, block) =
            module.types.iter().find(|(_, t)| t.name.as_deref() == Some("CakeUniforms")).unwrap();
        let naga::TypeInner::Struct { members, span } = &block.inner else {
            panic!("CakeUniforms is a struct")
        };
        assert_eq!(u64::from(*span), CakeUniforms::min_size().get());
        let names: Vec<_> = members.iter().filter_map(|m| m.name.as_deref()).collect();
        let wanted = [
            "colour",
            "shortfall",
            "edges",
            "look",
            "fine_line",
            "line_width",
            "mm_per_unit",
            "highlight",
            "roughness",
            "reflectance",
            "ceiling",
            "bounce",
            "reach",
            "foot",
            "crust",
            "tints",
            "fades",
        ];
        assert_eq!(names, wanted);
    }

    /// The shader names the looks by number.
    #[test]
    fn the_looks_have_the_numbers_that_the_shader_gives_them() {
        let shader = SHADERS.iter().find(|(name, _)| *name == "cake.wgsl").unwrap().1;
        let looks = [
            ("CRUMB", Look::Crumb as u32),
            ("DEPTH", Look::Depth as u32),
            ("SHORTFALL", Look::Shortfall as u32),
            ("FILLING", Look::Filling as u32),
            ("ICING", Look::Icing as u32),
            ("HARDWARE", Look::Hardware as u32),
            ("GHOST", Look::Ghost as u32),
            ("OFFCUT", Look::Offcut as u32),
            ("GROUND", GROUND_LOOK),
            ("GROUND_SHADOW", GROUND_SHADOW_LOOK),
        ];
        for (name, number) in looks {
            assert!(shader.contains(&format!("const {name}: u32 = {number}u;")), "{name} is not {number}");
        }
    }
}
