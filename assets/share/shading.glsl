// Fragment stage: shades every part by its look, after shaders/cake.wgsl.

// What a part is to look like; the numbers are those that the page's parts carry.
const int ICING = 0;
const int CRUMB = 1;
const int FILLING = 2;
const int HARDWARE = 3;
const int GROUND = 4;

struct Cake {
    vec3 colour;
    int look;
    float roughness;
    float reflectance;
    float ceiling;
    float bounce;
    float lamp;
    float reach;
    float foot;
    float crust;
    float mm_per_unit;
    vec4 tints[4];
    vec4 fades[4];
};

uniform Cake cake;
uniform vec3 eye_place;
uniform vec3 lamp_direction;
// Nothing above this height is drawn, mm.
uniform float cut_height;
uniform mat4 clip_from_world;
uniform mat4 lamp_from_world;
uniform highp sampler2DShadow shadow_map;
// Millimetres to the side of a pixel of the shadow map.
uniform float shadow_texel;

in vec3 world_place;
in vec3 world_normal;
out vec4 pixel_colour;

vec3 towards_eye(vec3 place) {
    return normalize(eye_place - place);
}

// Share of the lamp's light that arrives: the mean of places of the shadow map round the own one, so that the shadow is as
// soft as a lamp of some size makes it.
float lamp_share(vec3 place, vec3 normal) {
    const int SAMPLES = 16;
    const float WIDEST = 5.0;
    vec3 off = place + normal * 1.5 * shadow_texel;
    // In the plane of the surface, so that it casts no shadow on itself.
    vec3 across = normalize(cross(normal, vec3(0.37, 0.21, 0.91)));
    vec3 over = cross(normal, across);
    float turn = 6.2831853 * pixel_share(floor(gl_FragCoord.xy));
    float open = 0.0;
    for (int i = 0; i < SAMPLES; i++) {
        float reach = WIDEST * sqrt((float(i) + 0.5) / float(SAMPLES));
        float angle = turn + 2.3999632 * float(i);
        vec3 aside = off + (across * cos(angle) + over * sin(angle)) * reach;
        vec3 seen = (lamp_from_world * vec4(aside, 1.0)).xyz * 0.5 + 0.5;
        bool beyond = any(lessThan(seen.xy, vec2(0.0))) || any(greaterThan(seen.xy, vec2(1.0)));
        open += beyond ? 1.0 : texture(shadow_map, vec3(seen.xy, seen.z - 0.0008));
    }
    return open / float(SAMPLES);
}

// The light from the sky and from surfaces around, as if nothing stood in its way.
vec3 soft_light(vec3 normal) {
    return cake.ceiling * (0.5 + 0.5 * normal.y) * SKY + cake.bounce * (0.5 - 0.5 * normal.y) * BOARD;
}

Light light_at(vec3 place, vec3 normal) {
    Light light = Light(soft_light(normal), lamp_direction, 0.0);
    float facing = dot(normal, lamp_direction);
    float square = max(facing, 0.0);
    float open = square > 0.0 ? lamp_share(place, normal) : 1.0;
    if (cake.look == ICING) {
        // Light that enters beside a place and leaves there: it turns the edge of the shade soft, red furthest.
        vec3 spread = wrapped(facing, vec3(0.30, 0.18, 0.12));
        light.colour += WARM * cake.lamp * spread * mix(1.0, open, smoothstep(0.0, 0.3, facing));
    } else {
        light.colour += WARM * cake.lamp * square * open;
    }
    light.lamp_open = square > 0.0 ? open : 0.0;
    return light;
}

// The share of the light that is left on the ground, with soft ends of the shadows some way off.
vec3 ground_light(vec3 place) {
    vec3 up = vec3(0.0, 1.0, 0.0);
    float far = smoothstep(0.7, 1.0, length(place.xz) / cake.reach);
    vec3 open = cake.ceiling * SKY + WARM * cake.lamp * max(lamp_direction.y, 0.0);
    vec3 left = mix(vec3(GROUND_FLOOR), vec3(1.0), light_at(place, up).colour / open);
    return mix(left, vec3(1.0), far);
}

vec3 relief(vec3 normal, vec3 place, float height) {
    vec3 dx = dFdx(place);
    vec3 dy = dFdy(place);
    vec3 along_x = cross(dy, normal);
    vec3 along_y = cross(normal, dx);
    float area = dot(dx, along_x);
    vec3 slope = sign(area) * (dFdx(height) * along_x + dFdy(height) * along_y);
    return normalize(max(abs(area), 1e-12) * normal - slope);
}

vec3 crumbly(vec3 place, vec3 normal, float footprint, float crust, Light light) {
    float share = (cake.look == FILLING ? 0.35 : 1.0) * crumb_presence(footprint) * mix(1.0, 0.45, crust);
    // As it comes out of the pan the outside is baked darker than the inside.
    vec3 colour = cake.colour * mix(vec3(1.0), CRUST, crust);
    vec3 tilted = normal;
    if (share > 0.0) {
        float height = crumb_height(place * cake.mm_per_unit);
        colour *= mix(1.0, mix(0.58, 1.05, height), share);
        tilted = relief(normal, place, height * share * 0.45 / cake.mm_per_unit);
    }
    float tilt = dot(tilted, light.lamp) - dot(normal, light.lamp);
    return shoulder(colour * max(light.colour + vec3(0.5 * tilt * light.lamp_open), vec3(0.0)));
}

struct Seen {
    vec3 colour;
    float metal;
};

Seen tinted(Seen under, float height) {
    Seen seen = under;
    for (int i = 0; i < 4; i++) {
        vec4 tint = cake.tints[i];
        vec4 fade = cake.fades[i];
        float share = tint.a * clamp((height - fade.y) / (fade.x - fade.y), 0.0, 1.0);
        seen.colour = mix(seen.colour, tint.rgb, share);
        seen.metal = mix(seen.metal, fade.z, share);
    }
    return seen;
}

vec3 flakes(vec3 colour, vec3 ray, Light light) {
    vec3 room = reflected(ray, light.lamp, 0.45) * mix(0.45, 1.0, light.lamp_open);
    return colour * (0.5 * light.colour + 1.5 * room);
}

vec3 smooth_surface(Seen seen, vec3 place, vec3 normal, Light light) {
    vec3 colour = seen.colour;
    vec3 eye = towards_eye(place);
    vec3 ray = reflect(-eye, normal);
    float share = mirror_share(cake.reflectance, dot(normal, eye), cake.roughness);
    vec3 gloss = reflected(ray, light.lamp, cake.roughness) * mix(0.35, 1.0, light.lamp_open);
    vec3 matt = colour * light.colour * (1.0 - share) + gloss * share;
    return shoulder(mix(matt, flakes(colour, ray, light), seen.metal));
}

vec3 icing_normal(vec3 place, vec3 normal) {
    vec3 uneven = relief(normal, place, icing_height(place * cake.mm_per_unit) / cake.mm_per_unit);
    float turned_in = 1.0 - smoothstep(0.0, FOOT_MM / cake.mm_per_unit, place.y - cake.foot);
    return normalize(uneven - vec3(0.0, 1.1 * turned_in * turned_in, 0.0));
}

// A part of a colour in linear light as sRGB (IEC 61966-2-1).
vec3 encoded(vec3 light) {
    vec3 low = light * 12.92;
    vec3 high = 1.055 * pow(max(light, vec3(0.0)), vec3(1.0 / 2.4)) - 0.055;
    return mix(low, high, step(vec3(0.0031308), light));
}

void main() {
    vec3 place = world_place;
    vec3 normal = normalize(world_normal);
    float depth = gl_FragCoord.z;
    bool cap = false;
    if (place.y > cut_height) {
        discard;
    }
    if (cake.look == GROUND) {
        // What lies behind the picture shows through, so that the ground has the colour of the page.
        vec3 left = encoded(ground_light(place));
        pixel_colour = vec4(0.0, 0.0, 0.0, 1.0 - clamp(dot(left, vec3(0.2126, 0.7152, 0.0722)), 0.0, 1.0));
        gl_FragDepth = depth;
        return;
    }
    if (!gl_FrontFacing) {
        // The inside of a closed solid is drawn only where the line of sight came in through the level cut: what is seen is
        // the cut, at its own depth.
        vec3 ray = place - eye_place;
        if (ray.y > -1e-6) {
            discard;
        }
        place = eye_place + ray * ((cut_height - eye_place.y) / ray.y);
        vec4 clip = clip_from_world * vec4(place, 1.0);
        depth = 0.5 * clip.z / clip.w + 0.5;
        normal = vec3(0.0, 1.0, 0.0);
        cap = true;
    }
    float footprint = 0.7 * length(fwidth(place));
    Light light = light_at(place, normal);
    vec3 colour;
    if (cake.look == CRUMB || cake.look == FILLING) {
        // A cut face shows its own colour, wherever the lamp stands.
        if (cap) {
            light.colour = max(light.colour, vec3(CUT_FLOOR));
        }
        colour = crumbly(place, normal, footprint, cap ? 0.0 : cake.crust, light);
    } else {
        vec3 finished = cake.look == ICING && !cap ? icing_normal(place, normal) : normal;
        Seen seen = Seen(cake.colour, 0.0);
        if (!cap) {
            seen = tinted(seen, (place.y - cake.foot) * cake.mm_per_unit);
        }
        colour = smooth_surface(seen, place, finished, light);
    }
    pixel_colour = vec4(encoded(colour), 1.0);
    gl_FragDepth = depth;
}
