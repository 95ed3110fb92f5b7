//! How finely the window draws, which depends on what it draws with.

use bevy::{light::ShadowFilteringMethod, prelude::*};

/// Smoothness of edges and shadows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quality {
    /// Samples in a pixel.
    pub edges: Msaa,
    /// How the rims of shadows are softened.
    pub shadows: ShadowFilteringMethod,
    /// Side of a shadow map, texels.
    pub shadow_texels: usize,
    /// Whether the lamp casts shadows.
    pub lamp_casts: bool,
}

/// More triangles than this cast no shadow in motion: it would be drawing them all twice.
const MOST_CASTING: usize = 400_000;

impl Quality {
    /// The window's. Without a graphics card, edges that are a little rougher make turning the cake
    /// bearable.
    pub fn of_window(device: wgpu::DeviceType) -> Self {
        if device == wgpu::DeviceType::Cpu {
            let (edges, shadows) = (Msaa::Off, ShadowFilteringMethod::Hardware2x2);
            Self { edges, shadows, shadow_texels: 1024, lamp_casts: true }
        } else {
            let (edges, shadows) = (Msaa::Sample4, ShadowFilteringMethod::Gaussian);
            Self { edges, shadows, shadow_texels: 2048, lamp_casts: true }
        }
    }

    /// While a stage of so many triangles turns: what is rough cannot be seen in motion, and the next frame comes
    /// sooner.
    #[must_use]
    pub fn in_motion(self, triangles: usize) -> Self {
        let lamp_casts = triangles <= MOST_CASTING;
        Self { edges: Msaa::Off, shadows: ShadowFilteringMethod::Hardware2x2, lamp_casts, ..self }
    }

    /// A picture's: every take is filtered by being averaged with the others.
    pub fn of_pictures() -> Self {
        let (edges, shadows) = (Msaa::Off, ShadowFilteringMethod::Hardware2x2);
        Self { edges, shadows, shadow_texels: 1024, lamp_casts: true }
    }
}
