//! The material of everything on the stage: Bevy's standard material with `shaders/cake.wgsl` over it.

use std::path::Path;

use bevy::{
    asset::{RenderAssetUsages, io::embedded::EmbeddedAssetRegistry},
    image::Image,
    pbr::{ExtendedMaterial, MaterialExtension, MaterialPlugin},
    prelude::*,
    reflect::TypePath,
    render::render_resource::{AsBindGroup, Extent3d, ShaderType, TextureDimension, TextureFormat},
    shader::{Shader, ShaderRef},
};

use super::{
    Look, convert,
    scale::{self, DepthScale},
};
use crate::model::Rgb;

/// What the meshes on the stage wear.
pub type CakeMaterial = ExtendedMaterial<StandardMaterial, CakeSkin>;

/// The WGSL files, by name, as they are built into the program.
pub const SHADERS: [(&str, &str); 3] = [
    ("crumb.wgsl", include_str!("../../shaders/crumb.wgsl")),
    ("contour.wgsl", include_str!("../../shaders/contour.wgsl")),
    ("cake.wgsl", include_str!("../../shaders/cake.wgsl")),
];

/// What the shader needs beyond the standard material.
#[derive(Asset, AsBindGroup, TypePath, Debug, Clone)]
pub struct CakeSkin {
    /// Settings, one block.
    #[uniform(100)]
    pub skin: Skin,
    /// The depth scale as a strip of linear colours.
    #[texture(101, filterable = false)]
    pub depth_scale: Handle<Image>,
}

/// Must agree with `Skin` in `shaders/cake.wgsl`.
#[derive(Debug, Clone, Copy, PartialEq, ShaderType)]
pub struct Skin {
    /// One of the shader's looks.
    pub look: u32,
    /// Depth at the dark end of the scale, mm.
    pub deepest: f32,
    /// Depth between fine lines, mm.
    pub fine_line: f32,
    /// Depth between bold lines, mm.
    pub bold_line: f32,
    /// Width of a fine line, pixels.
    pub line_width: f32,
    /// Millimetres in one scene unit.
    pub mm_per_unit: f32,
    /// How much the piece glows because it is pointed at, 0 to 1.
    pub glow: f32,
    /// Fills the block up.
    pub spare: f32,
    /// Colour of shortfall, linear.
    pub shortfall: Vec4,
}

/// The number of the ground's look in the shader; the other numbers follow [`Look`]'s order.
const GROUND: u32 = 7;

impl MaterialExtension for CakeSkin {
    fn fragment_shader() -> ShaderRef {
        ShaderRef::Path("embedded://crumbline/shaders/cake.wgsl".into())
    }
}

/// What all skins of one stage share.
#[derive(Debug, Clone)]
pub struct Palette {
    /// The depth scale in use.
    pub scale: DepthScale,
    /// Width of a fine line, pixels.
    pub line_width: f32,
    /// The strip of colours.
    pub strip: Handle<Image>,
}

impl Palette {
    /// The material of a piece of this look and colour.
    pub fn material(&self, look: Look, colour: Rgb) -> CakeMaterial {
        let (roughness, reflectance) = match look {
            Look::Icing => (0.42, 0.38),
            Look::Hardware => (0.5, 0.4),
            Look::Spread => (0.55, 0.35),
            _ => (0.95, 0.15),
        };
        let base = StandardMaterial {
            base_color: colour_of(colour),
            perceptual_roughness: roughness,
            reflectance,
            alpha_mode: if look == Look::Ghost { AlphaMode::Blend } else { AlphaMode::Opaque },
            ..default()
        };
        ExtendedMaterial { base, extension: self.extension(look as u32) }
    }

    /// The material of the ground.
    pub fn ground(&self, colour: Color) -> CakeMaterial {
        let base = StandardMaterial { base_color: colour, perceptual_roughness: 1.0, ..default() };
        ExtendedMaterial { base, extension: self.extension(GROUND) }
    }

    fn extension(&self, look: u32) -> CakeSkin {
        let shortfall = colour_of(scale::SHORTFALL).to_linear();
        CakeSkin {
            skin: Skin {
                look,
                deepest: self.scale.deepest as f32,
                fine_line: scale::FINE_LINE as f32,
                bold_line: scale::BOLD_LINE as f32,
                line_width: self.line_width,
                mm_per_unit: convert::MM_PER_UNIT as f32,
                glow: 0.0,
                spare: 0.0,
                shortfall: Vec4::new(shortfall.red, shortfall.green, shortfall.blue, 1.0),
            },
            depth_scale: self.strip.clone(),
        }
    }
}

/// An sRGB colour as Bevy has it.
pub fn colour_of(Rgb(r, g, b): Rgb) -> Color {
    Color::srgb_u8(r, g, b)
}

/// The depth scale as a strip of texels, one for each step.
pub fn strip() -> Image {
    let texels = scale::linear_table();
    Image::new(
        Extent3d { width: texels.len() as u32, height: 1, depth_or_array_layers: 1 },
        TextureDimension::D2,
        texels.iter().flatten().flat_map(|c| c.to_le_bytes()).collect(),
        TextureFormat::Rgba32Float,
        RenderAssetUsages::RENDER_WORLD,
    )
}

/// Builds the shaders into the app and registers the material.
pub struct SkinPlugin;

/// Keeps the shaders that others import from being dropped.
#[derive(Resource)]
struct ShaderLibrary(#[expect(dead_code, reason = "held, not read")] Vec<Handle<Shader>>);

impl Plugin for SkinPlugin {
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
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rust's block and the shader's must have the same size, or every value after the slip is wrong.
    #[test]
    fn the_settings_block_is_the_same_size_on_both_sides() {
        let shader = SHADERS.iter().find(|(name, _)| *name == "cake.wgsl").unwrap().1;
        let start = shader.find("struct Skin {").unwrap();
        let block = &shader[start..start + shader[start..].find('}').unwrap() + 1];
        let module = naga::front::wgsl::parse_str(block).unwrap();
        let (_, block) = module.types.iter().find(|(_, t)| t.name.as_deref() == Some("Skin")).unwrap();
        let naga::TypeInner::Struct { members, span } = &block.inner else { panic!("Skin is a struct") };
        assert_eq!(u64::from(*span), Skin::min_size().get());
        let names: Vec<_> = members.iter().filter_map(|m| m.name.as_deref()).collect();
        let wanted = [
            "look", "deepest", "fine_line", "bold_line", "line_width", "mm_per_unit", "glow", "spare", "shortfall",
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
            ("SPREAD", Look::Spread as u32),
            ("ICING", Look::Icing as u32),
            ("HARDWARE", Look::Hardware as u32),
            ("GHOST", Look::Ghost as u32),
            ("GROUND", GROUND),
        ];
        for (name, number) in looks {
            assert!(shader.contains(&format!("const {name}: u32 = {number}u;")), "{name} is not {number}");
        }
    }
}
