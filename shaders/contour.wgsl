#define_import_path crumbline::contour

// Lines and hatches that keep their width in pixels. Pure functions.

/// The share of a pixel covered by lines at every whole multiple of `every` from one up, where the value changes
/// by `rate` from one pixel to the next. Lines closer than a few widths fade instead of filling the
/// area, and where the value hardly changes there is no line to draw.
fn line_share(value: f32, every: f32, rate: f32, width: f32) -> f32 {
    let pixels = abs(fract(value / every + 0.5) - 0.5) * every / max(rate, 1e-6);
    let share = 1.0 - smoothstep(0.5 * width - 0.5, 0.5 * width + 0.5, pixels);
    let room = smoothstep(2.5 * width, 5.0 * width, every / max(rate, 1e-6));
    // Nothing is no multiple: an untouched surface, straightened a little, has no lines.
    let some = step(0.5 * every, value);
    return share * room * some * smoothstep(0.0004, 0.0016, rate);
}

/// The share of a pixel covered by the line at one value, where the value changes by `rate` from one pixel to the next.
fn line_at(value: f32, line: f32, rate: f32, width: f32) -> f32 {
    let pixels = abs(value - line) / max(rate, 1e-6);
    let share = 1.0 - smoothstep(0.5 * width - 0.5, 0.5 * width + 0.5, pixels);
    return share * smoothstep(0.0004, 0.0016, rate);
}

/// The share of a pixel covered by diagonal stripes `period` pixels apart and half as wide.
fn hatch_share(pixel: vec2<f32>, period: f32) -> f32 {
    let across = abs(fract((pixel.x + pixel.y) / period) - 0.5) * period;
    return smoothstep(0.25 * period - 0.7, 0.25 * period + 0.7, across);
}
