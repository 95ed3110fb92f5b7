//! Finds something to draw with: a graphics card or, failing that, a driver that draws on the processor.

use std::sync::Arc;

use bevy::{
    render::{
        renderer::{
            RenderAdapter, RenderAdapterInfo, RenderDevice, RenderInstance, RenderQueue, WgpuWrapper,
        },
        settings::RenderCreation,
    },
    tasks::block_on,
};

use winit::event_loop::OwnedDisplayHandle;

use super::ViewerError;

/// Opens the best driver there is, without a window, with buffers of at most `largest_buffer` bytes.
///
/// # Errors
/// [`ViewerError::NoDriver`] when there is none, [`ViewerError::Refused`] when the one there is cannot be
/// opened.
pub fn open(largest_buffer: u64) -> Result<RenderCreation, ViewerError> {
    let (instance, adapter) = request()?;
    opened(instance, adapter, largest_buffer)
}

/// What a window on this display is drawn through where there is neither Vulkan nor what the system has in its place:
/// OpenGL. `None` where there is something better, or where the environment variable `WGPU_BACKEND` says what to take.
pub fn fallback(display: OwnedDisplayHandle) -> Option<RenderCreation> {
    if wgpu::Backends::from_env().is_some() || adapter(&instance(wgpu::Backends::PRIMARY)).is_ok() {
        return None;
    }
    let descriptor = wgpu::InstanceDescriptor::new_with_display_handle(Box::new(display));
    let instance =
        wgpu::Instance::new(wgpu::InstanceDescriptor { backends: wgpu::Backends::GL, ..descriptor });
    let adapter = adapter(&instance).ok()?;
    opened(instance, adapter, u64::MAX).ok()
}

fn opened(
    instance: wgpu::Instance,
    adapter: wgpu::Adapter,
    largest_buffer: u64,
) -> Result<RenderCreation, ViewerError> {
    let info = adapter.get_info();
    let mut features = adapter.features();
    if info.device_type == wgpu::DeviceType::DiscreteGpu {
        // Buffers that both sides can reach are slow across the bus.
        features.remove(wgpu::Features::MAPPABLE_PRIMARY_BUFFERS);
    }
    // Experimental features have to be opted into by name; nothing here needs one.
    features.remove(wgpu::Features::all_experimental_mask());
    let mut limits = adapter.limits();
    limits.max_buffer_size = limits.max_buffer_size.min(largest_buffer);
    limits.max_storage_buffer_binding_size =
        limits.max_storage_buffer_binding_size.min(limits.max_buffer_size);
    if info.backend == wgpu::Backend::Gl {
        // Bevy prepares a pass that nothing here uses and whose shader OpenGL refuses, unless fewer are allowed than it
        // needs.
        limits.max_storage_textures_per_shader_stage = limits.max_storage_textures_per_shader_stage.min(4);
    }
    let descriptor = wgpu::DeviceDescriptor {
        label: Some("crumbline"),
        required_features: features,
        required_limits: limits,
        ..wgpu::DeviceDescriptor::default()
    };
    let (device, queue) = block_on(adapter.request_device(&descriptor)).map_err(|error| {
        ViewerError::Refused { driver: info.name.clone(), reason: first_line(&error.to_string()) }
    })?;
    Ok(RenderCreation::manual(
        RenderDevice::from(device),
        RenderQueue(Arc::new(WgpuWrapper::new(queue))),
        RenderAdapterInfo(WgpuWrapper::new(info)),
        RenderAdapter(Arc::new(WgpuWrapper::new(adapter))),
        RenderInstance(Arc::new(WgpuWrapper::new(instance))),
    ))
}

/// Names the driver that pictures would be drawn with, for instance to put beside timings.
///
/// # Errors
/// [`ViewerError::NoDriver`] when there is none.
pub fn describe() -> Result<String, ViewerError> {
    let info = request()?.1.get_info();
    Ok(format!("{} ({:?}, {})", info.name, info.backend, info.driver))
}

/// Keeps Mesa's device-choosing layer from looking for a desktop session where there is none: it would
/// print an error, though nothing is wrong. Call it before any other thread runs.
#[cfg(target_os = "linux")]
#[expect(unsafe_code, reason = "the layer can only be told through the environment")]
pub fn expect_no_session() {
    let unset = |name: &str| std::env::var_os(name).is_none_or(|value| value.is_empty());
    if unset("XDG_RUNTIME_DIR") && unset("NODEVICE_SELECT") {
        // SAFETY: the caller promises that no other thread reads or writes the environment.
        unsafe { std::env::set_var("NODEVICE_SELECT", "1") };
    }
}

fn instance(backends: wgpu::Backends) -> wgpu::Instance {
    let descriptor = wgpu::InstanceDescriptor::new_without_display_handle();
    wgpu::Instance::new(wgpu::InstanceDescriptor { backends, ..descriptor })
}

/// The best driver there is, with OpenGL only where there is no other; what the first search says where there is none.
fn request() -> Result<(wgpu::Instance, wgpu::Adapter), ViewerError> {
    let asked = wgpu::Backends::from_env();
    let first = instance(asked.unwrap_or(wgpu::Backends::PRIMARY));
    match adapter(&first) {
        Ok(adapter) => Ok((first, adapter)),
        Err(error) if asked.is_some() => Err(error),
        Err(error) => {
            let last = instance(wgpu::Backends::GL);
            adapter(&last).map(|adapter| (last, adapter)).map_err(|_| error)
        }
    }
}

fn adapter(instance: &wgpu::Instance) -> Result<wgpu::Adapter, ViewerError> {
    let options = wgpu::RequestAdapterOptions {
        power_preference: wgpu::PowerPreference::HighPerformance,
        ..wgpu::RequestAdapterOptions::default()
    };
    block_on(instance.request_adapter(&options)).map_err(no_driver)
}

fn no_driver(reason: impl std::fmt::Display) -> ViewerError {
    ViewerError::NoDriver { reason: first_line(&reason.to_string()) }
}

fn first_line(text: &str) -> String {
    text.lines().next().unwrap_or_default().to_owned()
}
