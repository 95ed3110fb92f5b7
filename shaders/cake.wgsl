// The skin of everything on the stage, by look. Builds on Bevy's own lighting.

#import bevy_pbr::{
    forward_io::{VertexOutput, FragmentOutput},
    mesh_view_bindings::{view, lights},
    mesh_view_types::DIRECTIONAL_LIGHT_FLAGS_SHADOWS_ENABLED_BIT,
    pbr_fragment::pbr_input_from_standard_material,
    pbr_functions::{apply_pbr_lighting, main_pass_post_lighting_processing},
    pbr_types::PbrInput,
    shadows::fetch_directional_shadow,
}
#import crumbline::contour::{hatch_share, line_share}
#import crumbline::crumb::{crumb_height, crumb_presence}

// Must agree with `Skin` in src/viewer/skin.rs.
struct Skin {
    look: u32,
    deepest: f32,
    fine_line: f32,
    bold_line: f32,
    line_width: f32,
    mm_per_unit: f32,
    glow: f32,
    spare: f32,
    shortfall: vec4<f32>,
}

@group(#{MATERIAL_BIND_GROUP}) @binding(100) var<uniform> skin: Skin;
@group(#{MATERIAL_BIND_GROUP}) @binding(101) var depth_scale: texture_2d<f32>;

const CRUMB: u32 = 0u;
const DEPTH: u32 = 1u;
const SHORTFALL: u32 = 2u;
const SPREAD: u32 = 3u;
const ICING: u32 = 4u;
const HARDWARE: u32 = 5u;
const GHOST: u32 = 6u;
const GROUND: u32 = 7u;

/// The least share of its brightness that a colour with a meaning keeps in the shade.
const SHADE_FLOOR: f32 = 0.66;

@fragment
fn fragment(in: VertexOutput, @builtin(front_facing) is_front: bool) -> FragmentOutput {
    var out: FragmentOutput;
    var pbr = pbr_input_from_standard_material(in, is_front);
    let place = in.world_position.xyz * skin.mm_per_unit;
    let footprint = length(fwidth(place)) * 0.7;
    let cap = in.uv.y > 0.5;
    let depth = in.uv.x;
    let rate = fwidth(depth);

    if skin.look == GHOST {
        out.color = ghost(pbr.material.base_color.rgb, dot(pbr.N, pbr.V));
    } else if skin.look == GROUND {
        let lit = daylight(in.world_position, pbr.world_normal);
        out.color = vec4(pbr.material.base_color.rgb * mix(0.62, 1.0, lit), 1.0);
    } else if skin.look == DEPTH && !cap {
        let shade = neutral_shade(pbr);
        out.color = vec4(depth_colour(depth, rate) * shade, 1.0);
    } else if skin.look == SHORTFALL {
        let stripe = hatch_share(in.position.xy, 9.0 * skin.line_width);
        let shade = neutral_shade(pbr);
        out.color = vec4(mix(skin.shortfall.rgb, vec3(0.93), stripe) * shade, 1.0);
    } else {
        if skin.look <= SPREAD {
            let share = select(1.0, 0.35, skin.look == SPREAD) * crumb_presence(footprint);
            if share > 0.0 {
                let height = crumb_height(place);
                pbr.material.base_color = vec4(
                    pbr.material.base_color.rgb * mix(1.0, mix(0.56, 1.06, height), share),
                    pbr.material.base_color.a,
                );
                pbr.N = relief(pbr.N, in.world_position.xyz, height * share * 0.5 / skin.mm_per_unit);
            }
        }
        out.color = vec4(shoulder(apply_pbr_lighting(pbr).rgb), 1.0);
    }
    out.color = vec4(out.color.rgb + skin.glow * vec3(0.09, 0.08, 0.05), out.color.a);
    out.color = main_pass_post_lighting_processing(pbr, out.color);
    return out;
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
    let ink = select(colour * 0.45, colour * 2.2 + 0.05, bright < 0.10);
    let fine = 0.55 * line_share(depth, skin.fine_line, rate, skin.line_width);
    let bold = 0.95 * line_share(depth, skin.bold_line, rate, 2.0 * skin.line_width);
    return mix(colour, ink, max(fine, bold));
}

/// How bright matt white would be here, between the shade floor and 1. A colour with a meaning is
/// multiplied by this, so that it is never brighter than in the legend, nor much darker.
fn neutral_shade(pbr_in: PbrInput) -> f32 {
    var pbr = pbr_in;
    pbr.material.base_color = vec4(1.0);
    pbr.material.perceptual_roughness = 1.0;
    pbr.material.reflectance = vec3(0.0);
    let light = apply_pbr_lighting(pbr).g;
    return mix(SHADE_FLOOR, 1.0, smoothstep(0.12, 0.78, light));
}

/// The share of all lamps' light that reaches a place.
fn daylight(place: vec4<f32>, normal: vec3<f32>) -> f32 {
    let view_z = (view.view_from_world * place).z;
    var reaching = 0.0;
    var sent = 1e-6;
    for (var i = 0u; i < lights.n_directional_lights; i++) {
        let lamp = &lights.directional_lights[i];
        let light = (*lamp).color.g * max(dot(normal, (*lamp).direction_to_light), 0.0);
        var shadow = 1.0;
        if ((*lamp).flags & DIRECTIONAL_LIGHT_FLAGS_SHADOWS_ENABLED_BIT) != 0u {
            shadow = fetch_directional_shadow(i, place, normal, view_z, vec2(0.0));
        }
        reaching += light * shadow;
        sent += light;
    }
    return reaching / sent;
}

/// A veil that shows at the rims and leaves what it faces alone.
fn ghost(colour: vec3<f32>, facing: f32) -> vec4<f32> {
    let rim = pow(1.0 - clamp(facing, 0.0, 1.0), 2.2);
    return vec4(colour, 0.42 * rim);
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

/// Lets highlights run out softly instead of clipping; everything below is left as it is.
fn shoulder(colour: vec3<f32>) -> vec3<f32> {
    let over = max(colour - 0.8, vec3(0.0));
    return min(colour, vec3(0.8)) + 0.2 * (1.0 - exp(-over / 0.2));
}
