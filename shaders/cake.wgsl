// Shades every mesh of the scene, by its look.

#import bevy_pbr::{
    forward_io::{VertexOutput, FragmentOutput},
    mesh_view_bindings::{view, lights},
    mesh_view_types::DIRECTIONAL_LIGHT_FLAGS_SHADOWS_ENABLED_BIT,
    shadows::fetch_directional_shadow,
}
#import crumbline::contour::{hatch_share, line_at, line_share}
#import crumbline::crumb::{crumb_height, crumb_presence, icing_height}
#import crumbline::light::{BOARD, SKY, WARM, mirror_share, reflected, shoulder, wrapped}

// Must agree with `CakeUniforms` in src/studio/cake_material.rs.
struct CakeUniforms {
    colour: vec4<f32>,
    shortfall: vec4<f32>,
    edges: vec4<f32>,
    look: u32,
    fine_line: f32,
    line_width: f32,
    mm_per_unit: f32,
    highlight: f32,
    roughness: f32,
    reflectance: f32,
    ceiling: f32,
    bounce: f32,
    reach: f32,
    foot: f32,
    crust: f32,
    // What is painted or brushed on: each with its colour and how much it hides where it is full.
    tints: array<vec4<f32>, 4>,
    // For each of them the heights at which it is full and gone, mm above the foot, and how far it mirrors like metal.
    fades: array<vec4<f32>, 4>,
}

@group(#{MATERIAL_BIND_GROUP}) @binding(0) var<uniform> cake: CakeUniforms;
@group(#{MATERIAL_BIND_GROUP}) @binding(1) var depth_scale: texture_2d<f32>;

const CRUMB: u32 = 0u;
const DEPTH: u32 = 1u;
const SHORTFALL: u32 = 2u;
const FILLING: u32 = 3u;
const ICING: u32 = 4u;
const HARDWARE: u32 = 5u;
const GHOST: u32 = 6u;
const OFFCUT: u32 = 7u;
const GROUND: u32 = 8u;
const GROUND_SHADOW: u32 = 9u;

/// The least share of its brightness that a colour with a meaning keeps in the shade.
const SHADE_FLOOR: f32 = 0.62;

/// The least brightness of a cut face of sponge or filling.
const CUT_FLOOR: f32 = 0.9;

/// How bright the ground stays in full shadow.
const GROUND_FLOOR: f32 = 0.22;

/// How far aside the lamp's shadow is looked up where its opacity is whole, mm. Must agree with
/// src/studio/lamps.rs.
const WIDEST_SCATTER_MM: f32 = 20.0;

/// How high above the board the foot of the icing is turned in, mm.
const FOOT_MM: f32 = 3.5;

/// What the crust of a sponge keeps of the colour of its crumb.
const CRUST: vec3<f32> = vec3(0.80, 0.64, 0.46);

/// How much brighter the ground is round the cake than far off, where it is the colour behind everything.
const GROUND_POOL: f32 = 0.05;

/// The light that reaches a place.
struct Light {
    /// Brightness of matt white.
    matt: f32,
    /// The same with the colour of the light: the lamp is warm, the sky faintly cool, what the board throws back its own.
    colour: vec3<f32>,
    /// Towards the lamp.
    lamp: vec3<f32>,
    /// Whether the lamp reaches the place.
    lamp_open: f32,
}

@fragment
fn fragment(in: VertexOutput) -> FragmentOutput {
    let normal = normalize(in.world_normal);
    let rate = fwidth(in.uv.x);
    let footprint = 0.7 * length(fwidth(in.world_position.xyz)) * cake.mm_per_unit;
    let cap = in.uv.y > 0.5;
    var colour = vec4(cake.colour.rgb, 1.0);
    if cake.look == GHOST {
        colour.a = ghost_share(normal, towards_eye(in.world_position.xyz));
    } else if cake.look == GROUND {
        colour = vec4(colour.rgb * ground_light(in.world_position, floor(in.position.xy), soft_light(in, normal)), 1.0);
    } else if cake.look == GROUND_SHADOW {
        // Only what the ground loses of its light, to lie over any picture.
        let left = ground_light(in.world_position, floor(in.position.xy), soft_light(in, normal));
        colour = vec4(vec3(0.0), 1.0 - clamp(brightness(left), 0.0, 1.0));
    } else {
        let light = light_at(in.world_position, normal, floor(in.position.xy), soft_light(in, normal));
        if cake.look == DEPTH && !cap {
            colour = vec4(depth_colour(in.uv.x, rate) * shade(light.matt), 1.0);
        } else if cake.look == SHORTFALL {
            let stripe = hatch_share(in.position.xy, 9.0 * cake.line_width);
            colour = vec4(mix(cake.shortfall.rgb, vec3(0.93), stripe) * shade(light.matt), 1.0);
        } else if cake.look == OFFCUT {
            // One flat colour, hatched, so that it is seen without colour too.
            let stripe = hatch_share(in.position.xy, 10.0 * cake.line_width);
            let hatched = mix(colour.rgb * 0.62, colour.rgb, stripe);
            colour = vec4(hatched * select(shade(light.matt), 1.0, cap), 1.0);
        } else if cake.look <= FILLING {
            // A cut face shows its own colour, wherever the lamp stands.
            var lit = light;
            lit.colour = select(light.colour, max(light.colour, vec3(CUT_FLOOR)), cap);
            let crust = select(cake.crust, 0.0, cap);
            colour = vec4(crumbly(in.world_position.xyz, normal, footprint, crust, lit), 1.0);
        } else {
            let finished = select(normal, icing_normal(in.world_position.xyz, normal), cake.look == ICING);
            var seen = Seen(colour.rgb, 0.0);
            if !cap {
                seen = tinted(seen, (in.world_position.y - cake.foot) * cake.mm_per_unit);
            }
            colour = vec4(smooth_surface(seen, in.world_position.xyz, finished, light), 1.0);
        }
    }
    var out: FragmentOutput;
    // Colours with a meaning are not highlighted: they must agree with the legend.
    let highlight = select(cake.highlight, 0.0, (cake.look == DEPTH && !cap) || cake.look == SHORTFALL);
    out.color = vec4(colour.rgb + highlight * vec3(0.10, 0.09, 0.06), colour.a);
    return out;
}

/// The light from the sky and from surfaces around, of matt white: as it was worked out at the vertices, or where it was
/// not, as if nothing stood in its way.
fn soft_light(in: VertexOutput, normal: vec3<f32>) -> vec3<f32> {
#ifdef VERTEX_COLORS
    return in.color.rgb;
#else
    return cake.ceiling * (0.5 + 0.5 * normal.y) * SKY + cake.bounce * (0.5 - 0.5 * normal.y) * BOARD;
#endif
}

/// How bright a colour is (the weights of BT.709).
fn brightness(colour: vec3<f32>) -> f32 {
    return dot(colour, vec3(0.2126, 0.7152, 0.0722));
}

/// All light that reaches a place on a surface.
fn light_at(place: vec4<f32>, normal: vec3<f32>, pixel: vec2<f32>, soft: vec3<f32>) -> Light {
    var light = Light(brightness(soft), soft, vec3(0.0, 1.0, 0.0), 1.0);
    if lights.n_directional_lights == 0u {
        return light;
    }
    let view_z = (view.view_from_world * place).z;
    let lamp = &lights.directional_lights[0];
    let facing = dot(normal, (*lamp).direction_to_light);
    let square = max(facing, 0.0);
    let sent = (*lamp).color.g * 0.318309886;
    var open = 1.0;
    if square > 0.0 && ((*lamp).flags & DIRECTIONAL_LIGHT_FLAGS_SHADOWS_ENABLED_BIT) != 0u {
        let aside = vec4(place.xyz + scatter(normal, pixel), 1.0);
        open = fetch_directional_shadow(0u, aside, normal, view_z, vec2(0.0));
    }
    light.matt += sent * square * open;
    if cake.look == ICING {
        // Light that enters beside a place and leaves there: it turns the edge of the shade soft, red furthest.
        let spread = wrapped(facing, vec3(0.30, 0.18, 0.12));
        light.colour += WARM * sent * spread * mix(1.0, open, smoothstep(0.0, 0.3, facing));
    } else {
        light.colour += WARM * sent * square * open;
    }
    light.lamp = (*lamp).direction_to_light;
    light.lamp_open = select(0.0, open, square > 0.0);
    return light;
}

/// The share of the light that is left on the ground. Shadows end softly some way off, where they would be too faint
/// to see, so that the empty ground costs nothing.
fn ground_light(place: vec4<f32>, pixel: vec2<f32>, soft: vec3<f32>) -> vec3<f32> {
    let away = length(place.xz) / cake.reach;
    let pool = 1.0 + GROUND_POOL * (1.0 - smoothstep(0.5, 3.0, away));
    let far = smoothstep(0.7, 1.0, away);
    if far >= 1.0 || lights.n_directional_lights == 0u {
        return vec3(pool);
    }
    let up = vec3(0.0, 1.0, 0.0);
    let lamp = &lights.directional_lights[0];
    let open = cake.ceiling * SKY + WARM * (*lamp).color.g * 0.318309886 * max((*lamp).direction_to_light.y, 0.0);
    let arrives = light_at(place, up, pixel, soft).colour / open;
    // A ground that is to be looked past takes half of the colour that board and cake throw on it.
    let left = mix(vec3(GROUND_FLOOR), vec3(1.0), mix(arrives, vec3(brightness(arrives)), 0.5));
    return pool * mix(left, vec3(1.0), far);
}

/// The offset at which the shadow of the lamp is looked up, scene units. In each sample of a picture the lamp is a
/// point; offsets that differ by pixel and sample hide that there are not more of them. The window draws one sample
/// and no offset: its lamp's opacity is whole.
fn scatter(normal: vec3<f32>, pixel: vec2<f32>) -> vec3<f32> {
    let lamp = &lights.directional_lights[0];
    if (*lamp).color.a > 0.75 * (*lamp).color.g {
        return vec3(0.0);
    }
    // Red and blue carry the sample's two shares; green alone is its brightness.
    let shares = (*lamp).color.rb / (*lamp).color.g;
    let turn = 6.2831853 * fract(pixel_share(pixel) + shares.x);
    let reach = (*lamp).color.a / (*lamp).color.g * WIDEST_SCATTER_MM / cake.mm_per_unit * sqrt(fract(pixel_share(pixel + vec2(47.0, 17.0)) + shares.y));
    let across = normalize(cross(normal, vec3(0.37, 0.21, 0.91)));
    return (across * cos(turn) + cross(normal, across) * sin(turn)) * reach;
}

/// A value from 0 to 1 for each pixel, without a pattern that would be seen as a hatch where shadows end (a hash of
/// whole numbers: Jarzynski and Olano, "Hash Functions for GPU Rendering", 2020, `pcg`).
fn pixel_share(pixel: vec2<f32>) -> f32 {
    let state = (u32(pixel.x) + 4099u * u32(pixel.y)) * 747796405u + 2891336453u;
    let word = ((state >> ((state >> 28u) + 4u)) ^ state) * 277803737u;
    return f32(((word >> 22u) ^ word) & 0xffffffu) / 16777216.0;
}

/// Sponge or filling: pores and grain where they are large enough to be seen.
fn crumbly(place: vec3<f32>, normal: vec3<f32>, footprint: f32, crust: f32, light: Light) -> vec3<f32> {
    let share = select(1.0, 0.35, cake.look == FILLING) * crumb_presence(footprint) * mix(1.0, 0.45, crust);
    // As it comes out of the pan the outside is baked darker than the inside.
    var colour = cake.colour.rgb * mix(vec3(1.0), CRUST, crust);
    var tilted = normal;
    if share > 0.0 {
        let height = crumb_height(place * cake.mm_per_unit);
        colour *= mix(1.0, mix(0.58, 1.05, height), share);
        tilted = relief(normal, place, height * share * 0.45 / cake.mm_per_unit);
    }
    let tilt = dot(tilted, light.lamp) - dot(normal, light.lamp);
    return shoulder(colour * max(light.colour + vec3(0.5 * tilt * light.lamp_open), vec3(0.0)));
}

/// A surface's own colour, and how far it mirrors like metal.
struct Seen {
    colour: vec3<f32>,
    metal: f32,
}

/// A surface under what is painted or brushed on it, at a height in mm above the foot of the cake.
fn tinted(under: Seen, height: f32) -> Seen {
    var seen = under;
    for (var i = 0; i < 4; i++) {
        let tint = cake.tints[i];
        let fade = cake.fades[i];
        let share = tint.a * clamp((height - fade.y) / (fade.x - fade.y), 0.0, 1.0);
        seen.colour = mix(seen.colour, tint.rgb, share);
        seen.metal = mix(seen.metal, fade.z, share);
    }
    return seen;
}

/// Icing and hardware: matt under a thin gloss, or as painted on like metal.
fn smooth_surface(seen: Seen, place: vec3<f32>, normal: vec3<f32>, light: Light) -> vec3<f32> {
    let colour = seen.colour;
    let eye = towards_eye(place);
    let ray = reflect(-eye, normal);
    let share = mirror_share(cake.reflectance, dot(normal, eye), cake.roughness);
    let gloss = reflected(ray, light.lamp, cake.roughness) * mix(0.35, 1.0, light.lamp_open);
    let matt = colour * light.colour * (1.0 - share) + gloss * share;
    return shoulder(mix(matt, flakes(colour, ray, light), seen.metal));
}

/// Flakes of metal or mica in a brushed coat: they lie unevenly, so that half of the light is thrown all ways and the
/// mirrored room is blurred.
fn flakes(colour: vec3<f32>, ray: vec3<f32>, light: Light) -> vec3<f32> {
    let room = reflected(ray, light.lamp, 0.45) * mix(0.45, 1.0, light.lamp_open);
    return colour * (0.5 * light.colour + 1.5 * room);
}

/// The normal of rolled icing: never quite even, and turned in where it ends on the board.
fn icing_normal(place: vec3<f32>, normal: vec3<f32>) -> vec3<f32> {
    let uneven = relief(normal, place, icing_height(place * cake.mm_per_unit) / cake.mm_per_unit);
    let turned_in = 1.0 - smoothstep(0.0, FOOT_MM / cake.mm_per_unit, place.y - cake.foot);
    return normalize(uneven - vec3(0.0, 1.1 * turned_in * turned_in, 0.0));
}

/// The colour of a carving depth (mm): that of its band, with bold lines where bands meet and fine ones between.
fn depth_colour(depth: f32, rate: f32) -> vec3<f32> {
    let beyond = vec4<f32>(vec4(depth) > cake.edges);
    let band = i32(dot(beyond, vec4(1.0)) + 0.5);
    let colour = textureLoad(depth_scale, vec2<i32>(band, 0), 0).rgb;
    let ink = select(colour * 0.45, colour * 1.6 + 0.04, brightness(colour) < 0.10);
    // What is not touched has no lines.
    let fine = 0.45 * line_share(depth, cake.fine_line, rate, cake.line_width) * beyond.x;
    let bold = max(
        line_at(depth, cake.edges.y, rate, 2.0 * cake.line_width),
        max(
            line_at(depth, cake.edges.z, rate, 2.0 * cake.line_width),
            line_at(depth, cake.edges.w, rate, 2.0 * cake.line_width),
        ),
    );
    return mix(colour, ink, max(fine, 0.95 * bold));
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

/// The opacity of a ghost: greatest where the surface is seen edge-on. Level faces have none: seen from the
/// side they would cover the colours behind them with bands; their outlines are enough.
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
