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

use super::ViewerError;

/// Opens the best driver there is, without a window.
///
/// # Errors
/// [`ViewerError::NoDriver`] when there is none, or the one there is cannot be opened.
pub fn open() -> Result<RenderCreation, ViewerError> {
    let instance = wgpu::Instance::new(instance_descriptor());
    let adapter = request(&instance)?;
    let info = adapter.get_info();
    let mut features = adapter.features();
    if info.device_type == wgpu::DeviceType::DiscreteGpu {
        // Buffers that both sides can reach are slow across the bus.
        features.remove(wgpu::Features::MAPPABLE_PRIMARY_BUFFERS);
    }
    // Experimental features have to be opted into by name; nothing here needs one.
    features.remove(wgpu::Features::all_experimental_mask());
    let descriptor = wgpu::DeviceDescriptor {
        label: Some("crumbline"),
        required_features: features,
        required_limits: adapter.limits(),
        ..wgpu::DeviceDescriptor::default()
    };
    let (device, queue) = block_on(adapter.request_device(&descriptor)).map_err(no_driver)?;
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
    let info = request(&wgpu::Instance::new(instance_descriptor()))?.get_info();
    Ok(format!("{} ({:?}, {})", info.name, info.backend, info.driver))
}

fn instance_descriptor() -> wgpu::InstanceDescriptor {
    let backends = wgpu::Backends::from_env().unwrap_or(wgpu::Backends::PRIMARY);
    wgpu::InstanceDescriptor { backends, ..wgpu::InstanceDescriptor::new_without_display_handle() }
}

fn request(instance: &wgpu::Instance) -> Result<wgpu::Adapter, ViewerError> {
    let options = wgpu::RequestAdapterOptions {
        power_preference: wgpu::PowerPreference::HighPerformance,
        ..wgpu::RequestAdapterOptions::default()
    };
    block_on(instance.request_adapter(&options)).map_err(no_driver)
}

fn no_driver(reason: impl std::fmt::Display) -> ViewerError {
    ViewerError::NoDriver { reason: reason.to_string().lines().next().unwrap_or_default().to_owned() }
}
