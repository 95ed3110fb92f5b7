// The skin of everything on the stage, by look.

#import bevy_pbr::{
    forward_io::{VertexOutput, FragmentOutput},
    mesh_view_bindings::{view, lights},
    mesh_view_types::DIRECTIONAL_LIGHT_FLAGS_SHADOWS_ENABLED_BIT,
    shadows::fetch_directional_shadow,
}
#import crumbline::contour::{hatch_share, line_share}
#import crumbline::crumb::{crumb_height, crumb_presence}
#import crumbline::light::{even_light, mirror_share, reflected, shoulder}

// Must agree with `Skin` in src/viewer/skin.rs.
struct Skin {
    colour: vec4<f32>,
    shortfall: vec4<f32>,
    look: u32,
    deepest: f32,
    fine_line: f32,
    bold_line: f32,
    line_width: f32,
    mm_per_unit: f32,
    glow: f32,
    roughness: f32,
    sheen: f32,
    ceiling: f32,
    bounce: f32,
    reach: f32,
}

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<uniform> skin: Skin;
@group(#{MATERIAL_BIND_GROUP}) @binding(1) var depth_scale: texture_2d<f32>;

const CRUMB: u32 = 0u;
const DEPTH: u32 = 1u;
const SHORTFALL: u32 = 2u;
const SPREAD: u32 = 3u;
const ICING: u32 = 4u;
const HARDWARE: u32 = 5u;
const GHOST: u32 = 6u;
const GROUND: u32 = 7u;

/// The least share of its brightness that a colour with a meaning keeps in the shade.
const SHADE_FLOOR: f32 = 0.62;

/// How bright the ground stays in full shadow.
const GROUND_FLOOR: f32 = 0.60;

/// What reaches a place of the light.
struct Light {
    /// Brightness of matt white.
    matt: f32,
    /// Share of the lamps' light that is not in shadow.
    open: f32,
    /// Towards the lamp.
    lamp: vec3<f32>,
    /// Whether the lamp reaches the place.
    lamp_open: f32,
}

@fragment
fn fragment(in: VertexOutput) -> FragmentOutput {
    let normal = normalize(in.world_normal);
    let rate = fwidth(in.uv.x);
    let footprint = 0.7 * length(fwidth(in.world_position.xyz)) * skin.mm_per_unit;
    let cap = in.uv.y > 0.5;
    var colour = vec4(skin.colour.rgb, 1.0);
    if skin.look == GHOST {
        colour.a = ghost_share(normal, towards_eye(in.world_position.xyz));
    } else if skin.look == GROUND {
        colour = vec4(colour.rgb * mix(GROUND_FLOOR, 1.0, ground_light(in.world_position, floor(in.position.xy))), 1.0);
    } else {
        let light = light_at(in.world_position, normal, floor(in.position.xy));
        if skin.look == DEPTH && !cap {
            colour = vec4(depth_colour(in.uv.x, rate) * shade(light.matt), 1.0);
        } else if skin.look == SHORTFALL {
            let stripe = hatch_share(in.position.xy, 9.0 * skin.line_width);
            colour = vec4(mix(skin.shortfall.rgb, vec3(0.93), stripe) * shade(light.matt), 1.0);
        } else if skin.look <= SPREAD {
            colour = vec4(crumbly(in.world_position.xyz, normal, footprint, light), 1.0);
        } else {
            colour = vec4(smooth_skin(colour.rgb, in.world_position.xyz, normal, light), 1.0);
        }
    }
    var out: FragmentOutput;
    // Colours with a meaning stay what they are, even under the pointer.
    let glow = select(skin.glow, 0.0, (skin.look == DEPTH && !cap) || skin.look == SHORTFALL);
    out.color = vec4(colour.rgb + glow * vec3(0.10, 0.09, 0.06), colour.a);
    return out;
}

/// All light that reaches a place on a surface. There are two lamps at most; naming them one by one
/// instead of counting spares drivers that draw on the processor most of their work.
fn light_at(place: vec4<f32>, normal: vec3<f32>, pixel: vec2<f32>) -> Light {
    let view_z = (view.view_from_world * place).z;
    var light = Light(0.0, 0.0, vec3(0.0, 1.0, 0.0), 1.0);
    var sent = 1e-6;
    if lights.n_directional_lights > 0u {
        add_lamp(0u, place, normal, view_z, pixel, &light, &sent);
    }
    if lights.n_directional_lights > 1u {
        add_lamp(1u, place, normal, view_z, pixel, &light, &sent);
    }
    light.open = light.matt / sent;
    // With a ceiling that is a lamp of its own, the even ceiling is switched off.
    let ceiling = select(skin.ceiling, 0.0, lights.n_directional_lights > 1u);
    light.matt += even_light(normal.y, ceiling, skin.bounce);
    return light;
}

/// The share of the lamps' light that reaches the ground. Shadows end softly some way off, where they
/// would be too faint to see, so that the empty ground costs nothing.
fn ground_light(place: vec4<f32>, pixel: vec2<f32>) -> f32 {
    let far = smoothstep(0.7 * skin.reach, skin.reach, length(place.xz));
    if far >= 1.0 {
        return 1.0;
    }
    return mix(light_at(place, vec3(0.0, 1.0, 0.0), pixel).open, 1.0, far);
}

/// Adds what one lamp sends to a place, and what of it arrives.
fn add_lamp(
    index: u32,
    place: vec4<f32>,
    normal: vec3<f32>,
    view_z: f32,
    pixel: vec2<f32>,
    light: ptr<function, Light>,
    sent: ptr<function, f32>,
) {
    let lamp = &lights.directional_lights[index];
    let square = max(dot(normal, (*lamp).direction_to_light), 0.0);
    let bright = (*lamp).color.g * square * 0.318309886;
    var open = 1.0;
    if square > 0.0 && ((*lamp).flags & DIRECTIONAL_LIGHT_FLAGS_SHADOWS_ENABLED_BIT) != 0u {
        let aside = vec4(place.xyz + scatter(index, normal, pixel), 1.0);
        open = fetch_directional_shadow(index, aside, normal, view_z, vec2(0.0));
    }
    (*light).matt += bright * open;
    *sent += bright;
    // The ceiling's colour has no opacity: that tells it from the lamp.
    if (*lamp).color.a > 0.0 {
        (*light).lamp = (*lamp).direction_to_light;
        (*light).lamp_open = select(0.0, open, square > 0.0);
    }
}

/// How far to the side the shadow of a lamp is looked up. Each take has its lamps in one spot; looking
/// up their shadows a little to the side, elsewhere for each pixel and take, melts the spots into one.
/// The window has a single lamp and nothing to average, so there shadows stay where they are.
fn scatter(index: u32, normal: vec3<f32>, pixel: vec2<f32>) -> vec3<f32> {
    if lights.n_directional_lights < 2u {
        return vec3(0.0);
    }
    let lamp = &lights.directional_lights[index];
    let widest = select(12.0, 5.0, (*lamp).color.a > 0.0) / skin.mm_per_unit;
    // Red and blue of a lamp carry the take's own two shares; green alone is its brightness.
    let shares = (*lamp).color.rb / (*lamp).color.g;
    let turn = 6.2831853 * fract(pixel_share(pixel) + shares.x);
    let reach = widest * sqrt(fract(pixel_share(pixel + vec2(47.0, 17.0)) + shares.y));
    let across = normalize(cross(normal, vec3(0.37, 0.21, 0.91)));
    return (across * cos(turn) + cross(normal, across) * sin(turn)) * reach;
}

/// A value from 0 to 1 that differs as much as it can between neighbouring pixels (interleaved gradient
/// noise: Jorge Jimenez, 2014).
fn pixel_share(pixel: vec2<f32>) -> f32 {
    return fract(52.9829189 * fract(dot(pixel, vec2(0.06711056, 0.00583715))));
}

/// Cake: pores and grain where they are large enough to be seen.
fn crumbly(place: vec3<f32>, normal: vec3<f32>, footprint: f32, light: Light) -> vec3<f32> {
    let share = select(1.0, 0.35, skin.look == SPREAD) * crumb_presence(footprint);
    var colour = skin.colour.rgb;
    var tilted = normal;
    if share > 0.0 {
        let height = crumb_height(place * skin.mm_per_unit);
        colour *= mix(1.0, mix(0.58, 1.05, height), share);
        tilted = relief(normal, place, height * share * 0.45 / skin.mm_per_unit);
    }
    let tilt = dot(tilted, light.lamp) - dot(normal, light.lamp);
    return shoulder(colour * max(light.matt + 0.5 * tilt * light.lamp_open, 0.0));
}

/// Icing and hardware: matt under a thin gloss.
fn smooth_skin(colour: vec3<f32>, place: vec3<f32>, normal: vec3<f32>, light: Light) -> vec3<f32> {
    let eye = towards_eye(place);
    let ray = reflect(-eye, normal);
    let share = mirror_share(skin.sheen, dot(normal, eye));
    let gloss = reflected(ray, light.lamp, skin.roughness) * mix(0.35, 1.0, light.lamp_open);
    return shoulder(colour * light.matt * (1.0 - share) + vec3(gloss * share));
}

/// The colour of a shave depth (mm), with its lines.
fn depth_colour(depth: f32, rate: f32) -> vec3<f32> {
    let steps = f32(textureDimensions(depth_scale).x - 1u);
    let at = clamp(depth / skin.deepest, 0.0, 1.0) * steps;
    let low = i32(floor(at));
    let high = min(low + 1, i32(steps));
    let colour = mix(
        textureLoad(depth_scale, vec2<i32>(low, 0), 0).rgb,
        textureLoad(depth_scale, vec2<i32>(high, 0), 0).rgb,
        fract(at),
    );
    let bright = dot(colour, vec3(0.2126, 0.7152, 0.0722));
    let ink = select(colour * 0.45, colour * 1.6 + 0.04, bright < 0.10);
    let fine = 0.55 * line_share(depth, skin.fine_line, rate, skin.line_width);
    let bold = 0.95 * line_share(depth, skin.bold_line, rate, 2.0 * skin.line_width);
    return mix(colour, ink, max(fine, bold));
}

/// What a colour with a meaning is multiplied by: never brighter than in the legend, nor much darker.
fn shade(matt: f32) -> f32 {
    return mix(SHADE_FLOOR, 1.0, smoothstep(0.10, 0.60, matt));
}

fn towards_eye(place: vec3<f32>) -> vec3<f32> {
    // The last row of an orthographic projection is (0, 0, 0, 1), and its third points at the eye.
    if view.clip_from_view[3].w == 1.0 {
        return normalize(vec3(view.clip_from_world[0].z, view.clip_from_world[1].z, view.clip_from_world[2].z));
    }
    return normalize(view.world_position.xyz - place);
}

/// A veil that shows at the rims and leaves what it faces alone. Level faces have none: seen from the
/// side they would lie like bands over the colours behind them; their outlines are enough.
fn ghost_share(normal: vec3<f32>, eye: vec3<f32>) -> f32 {
    let upright = 1.0 - smoothstep(0.75, 0.95, abs(normal.y));
    return 0.42 * upright * pow(1.0 - clamp(dot(normal, eye), 0.0, 1.0), 2.2);
}

/// Tilts a normal by a height above the surface, all in scene units (Mikkelsen, "Bump Mapping
/// Unparametrized Surfaces on the GPU", 2010).
fn relief(normal: vec3<f32>, place: vec3<f32>, height: f32) -> vec3<f32> {
    let dx = dpdx(place);
    let dy = dpdy(place);
    let along_x = cross(dy, normal);
    let along_y = cross(normal, dx);
    let area = dot(dx, along_x);
    let slope = sign(area) * (dpdx(height) * along_x + dpdy(height) * along_y);
    return normalize(max(abs(area), 1e-12) * normal - slope);
}
