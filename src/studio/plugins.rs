//! Bevy's plugins, without those that nothing here needs: that shortens the time to the first picture.

use bevy::{
    anti_alias::AntiAliasPlugin,
    app::{PluginGroupBuilder, TerminalCtrlCHandlerPlugin},
    asset::RenderAssetUsages,
    core_pipeline::{CorePipelinePlugin, tonemapping::TonemappingLuts},
    image::Image,
    log::LogPlugin,
    post_process::PostProcessPlugin,
    prelude::*,
    render::render_resource::{Extent3d, TextureDimension, TextureFormat},
};

/// The plugins that pictures and window need. No log and no post-processing; no handler of Ctrl+C either: a
/// window that draws nothing would see it only with its next frame, so the system ends the program.
pub fn needed() -> PluginGroupBuilder {
    DefaultPlugins
        .build()
        .disable::<LogPlugin>()
        .disable::<TerminalCtrlCHandlerPlugin>()
        .disable::<AntiAliasPlugin>()
        .disable::<PostProcessPlugin>()
        .add_before::<CorePipelinePlugin>(NoTonemapping)
}

/// Empty tone mapping tables: tone mapping is off, and Bevy's own tables take time to unpack.
struct NoTonemapping;

impl Plugin for NoTonemapping {
    fn build(&self, app: &mut App) {
        let Some(mut images) = app.world_mut().get_resource_mut::<Assets<Image>>() else { return };
        let nothing = images.add(Image::new_fill(
            Extent3d { width: 1, height: 1, depth_or_array_layers: 1 },
            TextureDimension::D3,
            &[255; 4],
            TextureFormat::Rgba8Unorm,
            RenderAssetUsages::RENDER_WORLD,
        ));
        app.insert_resource(TonemappingLuts {
            blender_filmic: nothing.clone(),
            agx: nothing.clone(),
            tony_mc_mapface: nothing,
        });
    }
}
