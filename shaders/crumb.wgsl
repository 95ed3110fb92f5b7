#define_import_path crumbline::crumb

// Sponge crumb: pores of a few millimetres in a finely grained body. Pure functions of a place in
// millimetres, so that the crumb stays where it is when the cake turns.

/// Widest pore, mm; the crumb fades where a pixel covers more than that.
const PORE: f32 = 2.6;

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

/// Distance to the nearest pore's middle, in pores; each cell of the lattice holds one, of its own size.
fn pore_distance(place: vec3<f32>) -> f32 {
    let cell = vec3<i32>(floor(place));
    var nearest = 4.0;
    for (var i = 0; i < 27; i++) {
        let other = cell + vec3<i32>(i % 3 - 1, (i / 3) % 3 - 1, i / 9 - 1);
        let size = lattice_value(other);
        let jitter = vec3<f32>(
            lattice_value(other + vec3<i32>(71, 0, 0)),
            lattice_value(other + vec3<i32>(0, 113, 0)),
            lattice_value(other + vec3<i32>(0, 0, 191)),
        );
        let middle = vec3<f32>(other) + jitter;
        nearest = min(nearest, length(place - middle) + 0.55 * (1.0 - size * size));
    }
    return nearest;
}

/// How high the crumb stands at a place (mm), from 0 in the depth of a pore to 1.
fn crumb_height(place: vec3<f32>) -> f32 {
    let pore = smoothstep(0.28, 0.62, pore_distance(place / PORE));
    let grain = value_noise(place * 1.7) * 0.6 + value_noise(place * 4.1) * 0.4;
    return pore * (0.72 + 0.28 * grain);
}

/// How much of the crumb still shows where one pixel covers `footprint` mm.
fn crumb_presence(footprint: f32) -> f32 {
    return 1.0 - smoothstep(0.35 * PORE, 1.1 * PORE, footprint);
}
