//! What of Bevy the viewer leaves out, so that the first picture comes sooner.

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

/// Bevy's plugins without a log, without effects that nothing here uses, and with no wait for Ctrl+C: the
/// window sleeps and would hear it only with its next frame, so let it end the program as it ends any other.
pub fn plugins() -> PluginGroupBuilder {
    DefaultPlugins
        .build()
        .disable::<LogPlugin>()
        .disable::<TerminalCtrlCHandlerPlugin>()
        .disable::<AntiAliasPlugin>()
        .disable::<PostProcessPlugin>()
        .add_before::<CorePipelinePlugin>(NoTonemapping)
}

/// Colours are shown as they are: Bevy need not unpack its tables for changing them.
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
