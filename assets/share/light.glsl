// The light of shaders/light.wgsl, shaders/crumb.wgsl and shaders/cake.wgsl in GLSL ES 3.00, function by function; a test
// holds them against each other. Directions are of unit length, y up; places are in mm.

// A soft-edged patch of light in the reflections.
struct Patch {
    vec3 towards;
    float sharpness;
    float brightness;
};

// Colours of the light, each as bright as white: of the lamp, of the sky, of what board and table throw back.
const vec3 WARM = vec3(1.05, 0.995, 0.92);
const vec3 SKY = vec3(0.955, 1.0, 1.06);
const vec3 BOARD = vec3(1.08, 0.99, 0.86);

// Brightness of the walls and of the table in reflections.
const float WALL = 0.09;
const float TABLE = 0.22;

// The least brightness of a cut face of sponge or filling.
const float CUT_FLOOR = 0.9;

// How bright the ground stays in full shadow.
const float GROUND_FLOOR = 0.22;

// How high above the board the foot of the icing is turned in, mm.
const float FOOT_MM = 3.5;

// What the crust of a sponge keeps of the colour of its crumb.
const vec3 CRUST = vec3(0.80, 0.64, 0.46);

// A pore of middle size, mm; the crumb fades where a pixel covers more than that. How far apart large pores are, mm; a
// fine pore, mm.
const float PORE = 2.6;
const float LARGE_PORE = 9.0;
const float FINE_PORE = 1.1;

// The light that reaches a place: brightness and colour of matt white; towards the lamp; whether the lamp reaches the
// place.
struct Light {
    vec3 colour;
    vec3 lamp;
    float lamp_open;
};

float blurred_patch(Patch light, vec3 ray, float roughness) {
    float spread = max(roughness * roughness, 0.03);
    float lobe = 2.0 / (spread * spread);
    float sharpness = light.sharpness * lobe / (light.sharpness + lobe);
    return light.brightness * sharpness / light.sharpness * exp(sharpness * (dot(ray, light.towards) - 1.0));
}

vec3 reflected(vec3 ray, vec3 lamp, float roughness) {
    vec3 across = normalize(vec3(-lamp.z, 0.0, lamp.x));
    vec3 strip = normalize(vec3(-lamp.x, 0.25, -lamp.z) + across * 0.9);
    float edge = 0.15 + roughness;
    vec3 walls = mix(TABLE * BOARD, vec3(WALL), smoothstep(-edge, edge, ray.y));
    float overhead = blurred_patch(Patch(vec3(0.0, 1.0, 0.0), 2.5, 0.75), ray, roughness);
    float aside = blurred_patch(Patch(strip, 26.0, 0.7), ray, roughness);
    return walls + SKY * (overhead + aside) + WARM * blurred_patch(Patch(lamp, 40.0, 3.2), ray, roughness);
}

float mirror_share(float straight, float facing, float roughness) {
    float most = max((1.0 - roughness) * (1.0 - roughness), straight);
    return straight + (most - straight) * pow(1.0 - clamp(facing, 0.0, 1.0), 5.0);
}

vec3 wrapped(float facing, vec3 spread) {
    vec3 around = max(vec3(facing) + spread, vec3(0.0)) / (vec3(1.0) + spread);
    return around / (vec3(1.0) + spread);
}

vec3 shoulder(vec3 colour) {
    vec3 over = max(colour - 0.8, vec3(0.0));
    return min(colour, vec3(0.8)) + 0.2 * (1.0 - exp(-over / 0.2));
}

float lattice_value(ivec3 cell) {
    uint h = uint(cell.x) * 0x8da6b343u + uint(cell.y) * 0xd8163841u + uint(cell.z) * 0xcb1ab31fu;
    h = (h ^ (h >> 15u)) * 0x2c1b3c6du;
    h = (h ^ (h >> 12u)) * 0x297a2d39u;
    h = h ^ (h >> 15u);
    return float(h & 0xffffffu) / 16777216.0;
}

float value_noise(vec3 place) {
    ivec3 cell = ivec3(floor(place));
    vec3 at = fract(place);
    vec3 w = at * at * (3.0 - 2.0 * at);
    float rows[4];
    for (int i = 0; i < 4; i++) {
        ivec3 corner = cell + ivec3(0, i & 1, i >> 1u);
        rows[i] = mix(lattice_value(corner), lattice_value(corner + ivec3(1, 0, 0)), w.x);
    }
    return mix(mix(rows[0], rows[1], w.y), mix(rows[2], rows[3], w.y), w.z);
}

float pore_distance(vec3 place) {
    ivec3 corner = ivec3(floor(place - 0.5));
    float nearest = 4.0;
    for (int i = 0; i < 8; i++) {
        ivec3 cell = corner + ivec3(i & 1, (i >> 1u) & 1, i >> 2u);
        float size = lattice_value(cell);
        vec3 aside = vec3(
            lattice_value(cell + ivec3(71, 0, 0)),
            lattice_value(cell + ivec3(0, 113, 0)),
            lattice_value(cell + ivec3(0, 0, 191))
        );
        vec3 middle = vec3(cell) + 0.2 + 0.6 * aside;
        nearest = min(nearest, length(place - middle) + 0.55 * (1.0 - size * size));
    }
    return nearest;
}

float crumb_height(vec3 place) {
    float large = smoothstep(0.16, 0.34, pore_distance(place / LARGE_PORE + 7.3));
    float middling = smoothstep(0.26, 0.58, pore_distance(place / PORE));
    float fine = smoothstep(0.20, 0.60, pore_distance(place / FINE_PORE + 3.1));
    float grain = value_noise(place * 1.7) * 0.6 + value_noise(place * 4.1) * 0.4;
    return min(large, middling) * mix(0.82, 1.0, fine) * (0.74 + 0.26 * grain);
}

float crumb_presence(float footprint) {
    return 1.0 - smoothstep(0.35 * PORE, 1.1 * PORE, footprint);
}

float icing_height(vec3 place) {
    return 0.11 * value_noise(place / 31.0) + 0.03 * value_noise(place / 11.0);
}

float pixel_share(vec2 pixel) {
    uint state = (uint(pixel.x) + 4099u * uint(pixel.y)) * 747796405u + 2891336453u;
    uint word = ((state >> ((state >> 28u) + 4u)) ^ state) * 277803737u;
    return float(((word >> 22u) ^ word) & 0xffffffu) / 16777216.0;
}
