#define_import_path crumbline::light

// The studio's light in closed form. Pure functions; all directions of unit length, y up.

/// A soft-edged patch of light in the reflections.
struct Patch {
    towards: vec3<f32>,
    sharpness: f32,
    brightness: f32,
}

/// Brightness of a patch seen along `ray` by a surface of this roughness. The patch is a spherical
/// Gaussian and so is the blur of a rough surface, so the blurred patch is one too, of sharpness
/// `ks / (k + s)`.
fn blurred_patch(light: Patch, ray: vec3<f32>, roughness: f32) -> f32 {
    let spread = max(roughness * roughness, 0.03);
    let lobe = 2.0 / (spread * spread);
    let sharpness = light.sharpness * lobe / (light.sharpness + lobe);
    return light.brightness * sharpness / light.sharpness * exp(sharpness * (dot(ray, light.towards) - 1.0));
}

/// Colours of the light, each as bright as white: of the lamp, of the sky, of what board and table throw back. The
/// first two must agree with `WARM` and `SKY` in src/studio/lamps.rs.
const WARM: vec3<f32> = vec3(1.05, 0.995, 0.92);
const SKY: vec3<f32> = vec3(0.955, 1.0, 1.06);
const BOARD: vec3<f32> = vec3(1.08, 0.99, 0.86);

/// Brightness of the walls and of the table in reflections.
const WALL: f32 = 0.09;
const TABLE: f32 = 0.22;

/// Radiance along `ray` in a room: the warm lamp, a cool strip light on the other side, the ceiling, walls, and the table
/// below; the rougher the surface, the softer the edge between these.
fn reflected(ray: vec3<f32>, lamp: vec3<f32>, roughness: f32) -> vec3<f32> {
    let across = normalize(vec3(-lamp.z, 0.0, lamp.x));
    let strip = normalize(vec3(-lamp.x, 0.25, -lamp.z) + across * 0.9);
    let edge = 0.15 + roughness;
    let walls = mix(TABLE * BOARD, vec3(WALL), smoothstep(-edge, edge, ray.y));
    let overhead = blurred_patch(Patch(vec3(0.0, 1.0, 0.0), 2.5, 0.75), ray, roughness);
    let aside = blurred_patch(Patch(strip, 26.0, 0.7), ray, roughness);
    return walls + SKY * (overhead + aside) + WARM * blurred_patch(Patch(lamp, 40.0, 3.2), ray, roughness);
}

/// Share of light that a surface of this reflectance throws back at this angle (Schlick, "An
/// Inexpensive BRDF Model for Physically-based Rendering", 1994). A rough surface hides from a grazing look what would
/// mirror most, so its share at grazing is less (Fdez-Agüera, "A Multiple-Scattering Microfacet Model for Real-Time
/// Image-based Lighting", 2019, after Lagarde: the most is 1 − roughness; squared here, since icing is matt).
fn mirror_share(straight: f32, facing: f32, roughness: f32) -> f32 {
    let most = max((1.0 - roughness) * (1.0 - roughness), straight);
    return straight + (most - straight) * pow(1.0 - clamp(facing, 0.0, 1.0), 5.0);
}

/// How square a surface lies to a lamp where light spreads this far inside it, for each colour: `facing` is the cosine
/// between normal and lamp. As much light as without on the whole ("wrap lighting": Green, "Real-Time Approximations to
/// Subsurface Scattering", GPU Gems, 2004, made to conserve energy).
fn wrapped(facing: f32, spread: vec3<f32>) -> vec3<f32> {
    let around = max(vec3(facing) + spread, vec3(0.0)) / (vec3(1.0) + spread);
    return around / (vec3(1.0) + spread);
}

/// Compresses brightness above 0.8 so that highlights do not clip; everything below stays as it is.
fn shoulder(colour: vec3<f32>) -> vec3<f32> {
    let over = max(colour - 0.8, vec3(0.0));
    return min(colour, vec3(0.8)) + 0.2 * (1.0 - exp(-over / 0.2));
}
