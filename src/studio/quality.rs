//! Multisampling and shadow quality, by what draws: a graphics card or the processor.

use bevy::{light::ShadowFilteringMethod, prelude::*};

/// The quality of edges and shadows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quality {
    /// Samples in a pixel.
    pub edges: Msaa,
    /// How shadow maps are filtered.
    pub shadows: ShadowFilteringMethod,
    /// Side of a shadow map, texels.
    pub shadow_texels: usize,
    /// Whether the lamp casts shadows.
    pub lamp_casts: bool,
}

/// More triangles than this cast no shadow in motion: it would be drawing them all twice.
const MOST_CASTING: usize = 400_000;

impl Quality {
    /// The window's at rest. Without a graphics card there is no multisampling, so that a frame takes less
    /// time.
    pub fn of_window(device: wgpu::DeviceType) -> Self {
        if device == wgpu::DeviceType::Cpu {
            let (edges, shadows) = (Msaa::Off, ShadowFilteringMethod::Hardware2x2);
            Self { edges, shadows, shadow_texels: 1024, lamp_casts: true }
        } else {
            let (edges, shadows) = (Msaa::Sample4, ShadowFilteringMethod::Gaussian);
            Self { edges, shadows, shadow_texels: 2048, lamp_casts: true }
        }
    }

    /// While the eye moves round a scene of so many triangles: lower quality is not noticed in motion, and
    /// frames follow faster.
    #[must_use]
    pub fn in_motion(self, triangles: usize) -> Self {
        let lamp_casts = triangles <= MOST_CASTING;
        Self { edges: Msaa::Off, shadows: ShadowFilteringMethod::Hardware2x2, lamp_casts, ..self }
    }

    /// A picture's: the mean of its samples is what filters it.
    pub fn of_pictures() -> Self {
        let (edges, shadows) = (Msaa::Off, ShadowFilteringMethod::Hardware2x2);
        Self { edges, shadows, shadow_texels: 1024, lamp_casts: true }
    }
}
