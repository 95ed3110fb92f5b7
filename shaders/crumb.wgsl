#define_import_path crumbline::crumb

// Sponge crumb: pores of three sizes in a finely grained body; the unevenness of rolled icing. Pure functions of a place
// in millimetres, so that both stay where they are when the cake turns.

/// A pore of middle size, mm; the crumb fades where a pixel covers more than that.
const PORE: f32 = 2.6;
/// How far apart large pores are, mm.
const LARGE_PORE: f32 = 9.0;
/// A fine pore, mm.
const FINE_PORE: f32 = 1.1;

/// A repeatable value from 0 to 1 for each cell of a lattice.
fn lattice_value(cell: vec3<i32>) -> f32 {
    var h = u32(cell.x) * 0x8da6b343u + u32(cell.y) * 0xd8163841u + u32(cell.z) * 0xcb1ab31fu;
    h = (h ^ (h >> 15u)) * 0x2c1b3c6du;
    h = (h ^ (h >> 12u)) * 0x297a2d39u;
    h = h ^ (h >> 15u);
    return f32(h & 0xffffffu) / 16777216.0;
}

/// Smoothly varying value from 0 to 1.
fn value_noise(place: vec3<f32>) -> f32 {
    let cell = vec3<i32>(floor(place));
    let at = fract(place);
    let w = at * at * (3.0 - 2.0 * at);
    var rows: array<f32, 4>;
    for (var i = 0; i < 4; i++) {
        let corner = cell + vec3<i32>(0, i & 1, i >> 1u);
        rows[i] = mix(lattice_value(corner), lattice_value(corner + vec3<i32>(1, 0, 0)), w.x);
    }
    return mix(mix(rows[0], rows[1], w.y), mix(rows[2], rows[3], w.y), w.z);
}

/// How far from the nearest pore's middle a place is, in cells of the lattice; each cell holds one pore near its middle,
/// of its own size, so that the eight cells round a place hold all that reach it.
fn pore_distance(place: vec3<f32>) -> f32 {
    let corner = vec3<i32>(floor(place - 0.5));
    var nearest = 4.0;
    for (var i = 0; i < 8; i++) {
        let cell = corner + vec3<i32>(i & 1, (i >> 1u) & 1, i >> 2u);
        let size = lattice_value(cell);
        let aside = vec3<f32>(
            lattice_value(cell + vec3<i32>(71, 0, 0)),
            lattice_value(cell + vec3<i32>(0, 113, 0)),
            lattice_value(cell + vec3<i32>(0, 0, 191)),
        );
        let middle = vec3<f32>(cell) + 0.2 + 0.6 * aside;
        nearest = min(nearest, length(place - middle) + 0.55 * (1.0 - size * size));
    }
    return nearest;
}

/// How high the crumb stands at a place (mm), from 0 in the depth of a pore to 1: few large pores, more of the middle
/// size, many fine ones.
fn crumb_height(place: vec3<f32>) -> f32 {
    let large = smoothstep(0.16, 0.34, pore_distance(place / LARGE_PORE + 7.3));
    let middling = smoothstep(0.26, 0.58, pore_distance(place / PORE));
    let fine = smoothstep(0.20, 0.60, pore_distance(place / FINE_PORE + 3.1));
    let grain = value_noise(place * 1.7) * 0.6 + value_noise(place * 4.1) * 0.4;
    return min(large, middling) * mix(0.82, 1.0, fine) * (0.74 + 0.26 * grain);
}

/// How much of the crumb still shows where one pixel covers `footprint` mm.
fn crumb_presence(footprint: f32) -> f32 {
    return 1.0 - smoothstep(0.35 * PORE, 1.1 * PORE, footprint);
}

/// How high rolled icing stands at a place (mm) above its even surface, mm: smoothed by hand it is never quite even.
fn icing_height(place: vec3<f32>) -> f32 {
    return 0.11 * value_noise(place / 31.0) + 0.03 * value_noise(place / 11.0);
}
