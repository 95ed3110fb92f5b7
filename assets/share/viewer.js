"use strict";
// The cake to turn: meshes unpacked, drawn with WebGL 2. Lengths in mm, y up, the front faces +z.

// Parts of a packed model: see src/formats/export/packed.rs for how its numbers are written.
function unpacked(model, bytes) {
    let at = 0;
    const take = (count) => bytes.subarray(at, (at += count));
    return model.parts.map((part) => {
        const positions = new Float32Array(3 * part.vertices);
        for (let axis = 0; axis < 3; axis++) {
            const low = take(part.vertices), high = take(part.vertices);
            let place = 0;
            for (let v = 0; v < part.vertices; v++) {
                const number = low[v] | (high[v] << 8);
                place = (place + ((number >> 1) ^ -(number & 1))) & 0xffff;
                positions[3 * v + axis] = model.origin[axis] + model.step * place;
            }
        }
        const corners = 3 * part.triangles;
        const low = take(corners), middle = take(corners), high = take(corners);
        const triangles = new Uint32Array(corners);
        let next = 0;
        for (let c = 0; c < corners; c++) {
            triangles[c] = next - (low[c] | (middle[c] << 8) | (high[c] << 16));
            if (triangles[c] === next) next++;
        }
        return { ...part, ...withNormals(positions, triangles) };
    });
}

// Vertices with a normal each: faces that meet at more than CREASE keep an edge between them, the others are smoothed, weighted
// by their angle at the vertex, so that it does not matter how the surface is cut into triangles.
function withNormals(positions, triangles) {
    const CREASE = Math.cos((32 * Math.PI) / 180);
    const faces = triangles.length / 3, vertices = positions.length / 3;
    const normals = new Float32Array(3 * faces), angles = new Float32Array(3 * faces);
    const at = (v) => [positions[3 * v], positions[3 * v + 1], positions[3 * v + 2]];
    const starts = new Uint32Array(vertices + 1);
    for (let face = 0; face < faces; face++) {
        const p = [0, 1, 2].map((k) => at(triangles[3 * face + k]));
        const sides = [minus(p[1], p[0]), minus(p[2], p[1]), minus(p[0], p[2])];
        normals.set(unit(cross(sides[0], sides[1])), 3 * face);
        for (let k = 0; k < 3; k++) {
            const out = unit(sides[k]), back = unit(sides[(k + 2) % 3]);
            angles[3 * face + k] = Math.acos(Math.max(-1, Math.min(1, -dot(out, back))));
            starts[triangles[3 * face + k] + 1]++;
        }
    }
    for (let v = 0; v < vertices; v++) starts[v + 1] += starts[v];
    const around = new Uint32Array(triangles.length), filled = starts.slice();
    triangles.forEach((v, corner) => (around[filled[v]++] = corner));
    const places = [], directions = [], indices = new Uint32Array(triangles.length);
    for (let v = 0; v < vertices; v++) {
        const known = [];
        for (let i = starts[v]; i < starts[v + 1]; i++) {
            const own = 3 * Math.floor(around[i] / 3);
            let x = 0, y = 0, z = 0;
            for (let j = starts[v]; j < starts[v + 1]; j++) {
                const other = 3 * Math.floor(around[j] / 3), weight = angles[around[j]];
                const nx = normals[other], ny = normals[other + 1], nz = normals[other + 2];
                if (nx * normals[own] + ny * normals[own + 1] + nz * normals[own + 2] < CREASE) continue;
                x += weight * nx;
                y += weight * ny;
                z += weight * nz;
            }
            const normal = unit([x, y, z]);
            let same = known.find((k) => dot(k.normal, normal) > 0.99999);
            if (!same) {
                same = { normal, index: places.length / 3 };
                known.push(same);
                places.push(...at(v));
                directions.push(...normal);
            }
            indices[around[i]] = same.index;
        }
    }
    return { places: new Float32Array(places), directions: new Float32Array(directions), indices };
}

const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const minus = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const unit = (a) => {
    const length = Math.hypot(...a) || 1;
    return [a[0] / length, a[1] / length, a[2] / length];
};
// The direction of a bearing (counter-clockwise from the front, seen from above) and an elevation, degrees.
const direction = (bearing, elevation) => {
    const [b, e] = [(bearing * Math.PI) / 180, (elevation * Math.PI) / 180];
    return [Math.sin(b) * Math.cos(e), Math.sin(e), Math.cos(b) * Math.cos(e)];
};
// A colour "#rrggbb" in linear light (IEC 61966-2-1).
const linear = (colour) =>
    [1, 3, 5].map((i) => {
        const value = parseInt(colour.slice(i, i + 2), 16) / 255;
        return value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4;
    });

// Matrices are columns one after the other. That of a view from `eye`, whose x is `right` and y `up`.
const rotation = (right, up, back, eye) => [
    right[0], up[0], back[0], 0, right[1], up[1], back[1], 0, right[2], up[2], back[2], 0,
    -dot(right, eye), -dot(up, eye), -dot(back, eye), 1,
];
const product = (a, b) =>
    Array.from({ length: 16 }, (_, i) => {
        const [column, row] = [4 * Math.floor(i / 4), i % 4];
        return a[row] * b[column] + a[4 + row] * b[column + 1] + a[8 + row] * b[column + 2] + a[12 + row] * b[column + 3];
    });

// A drawing of `model` on `canvas`. What is to be seen is set in `view`; draw() shows it.
class Viewer {
    constructor(canvas, model, parts, shaders) {
        Object.assign(this, { canvas, model, parts, shaders });
        this.view = { ...Viewer.home, stage: model.stages.length - 1 };
        this.colours = parts.map((part) => part.colour);
        this.measure();
        this.begin();
        canvas.addEventListener("webglcontextlost", (event) => event.preventDefault());
        canvas.addEventListener("webglcontextrestored", () => (this.begin(), this.draw()));
        new ResizeObserver(() => this.draw()).observe(canvas);
    }

    // Where the eye is at first: bearing and elevation in degrees, distance as a share of that which shows everything.
    static home = { bearing: 24, elevation: 14, distance: 1 };

    // The box round everything, for the eye and for the lamp.
    measure() {
        const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
        for (const { places } of this.parts) {
            for (let i = 0; i < places.length; i++) {
                low[i % 3] = Math.min(low[i % 3], places[i]);
                high[i % 3] = Math.max(high[i % 3], places[i]);
            }
        }
        this.low = low;
        this.high = high;
        this.middle = low.map((n, i) => (n + high[i]) / 2);
        this.radius = Math.hypot(...minus(high, low)) / 2;
        // Seen from any side the cake lies in an upright cylinder.
        this.reach = 0;
        for (const { places } of this.parts) {
            for (let i = 0; i < places.length; i += 3) {
                const side = Math.hypot(places[i] - this.middle[0], places[i + 2] - this.middle[2]);
                this.reach = Math.max(this.reach, side);
            }
        }
    }

    begin() {
        const gl = this.canvas.getContext("webgl2", { antialias: true, stencil: true, preserveDrawingBuffer: true });
        if (!gl) throw new Error("no WebGL 2");
        this.gl = gl;
        const { vertex, surface, shadow } = this.shaders;
        this.surface = this.program(vertex, surface);
        this.shadow = this.program(vertex, shadow);
        this.drawn = this.parts.map((part) => this.vertices(part.places, part.directions, part.indices));
        const reach = 3 * this.radius, y = this.low[1] - 0.2;
        const square = [-reach, y, -reach, -reach, y, reach, reach, y, reach, reach, y, -reach];
        const ups = [0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 1, 0];
        this.ground = this.vertices(new Float32Array(square), new Float32Array(ups), new Uint32Array([0, 1, 2, 0, 2, 3]));
        // The shadow map: depths as the lamp sees them.
        this.texels = 1024;
        this.map = gl.createTexture();
        gl.bindTexture(gl.TEXTURE_2D, this.map);
        gl.texStorage2D(gl.TEXTURE_2D, 1, gl.DEPTH_COMPONENT24, this.texels, this.texels);
        gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_COMPARE_MODE, gl.COMPARE_REF_TO_TEXTURE);
        gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.LINEAR);
        gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAG_FILTER, gl.LINEAR);
        this.target = gl.createFramebuffer();
        gl.bindFramebuffer(gl.FRAMEBUFFER, this.target);
        gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.TEXTURE_2D, this.map, 0);
        gl.enable(gl.DEPTH_TEST);
        gl.blendFunc(gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
    }

    program(vertex, fragment) {
        const gl = this.gl, program = gl.createProgram();
        for (const [kind, text] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
            const shader = gl.createShader(kind);
            gl.shaderSource(shader, text);
            gl.compileShader(shader);
            if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(shader));
            gl.attachShader(program, shader);
        }
        gl.bindAttribLocation(program, 0, "place");
        gl.bindAttribLocation(program, 1, "direction");
        gl.linkProgram(program);
        if (!gl.getProgramParameter(program, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(program));
        const places = {};
        return { program, place: (name) => (places[name] ??= gl.getUniformLocation(program, name)) };
    }

    vertices(places, directions, indices) {
        const gl = this.gl, array = gl.createVertexArray();
        gl.bindVertexArray(array);
        [places, directions].forEach((values, slot) => {
            gl.bindBuffer(gl.ARRAY_BUFFER, gl.createBuffer());
            gl.bufferData(gl.ARRAY_BUFFER, values, gl.STATIC_DRAW);
            gl.enableVertexAttribArray(slot);
            gl.vertexAttribPointer(slot, 3, gl.FLOAT, false, 0, 0);
        });
        gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, gl.createBuffer());
        gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, indices, gl.STATIC_DRAW);
        return { array, count: indices.length };
    }

    // For each part at the stage that is shown: the height above which it is not there, mm; nothing where it is not there at
    // all. Carving goes downwards, and coats grow upwards.
    heights() {
        const EVERYWHERE = 1e9;
        const base = Math.floor(this.view.stage), share = this.view.stage - base;
        const from = Math.min(0, this.low[1]), top = this.high[1];
        const cut = base === 0 ? top + share * (from - top) : from + share * (top - from);
        return this.parts.map(({ stages: [first, last] }) => {
            const now = first <= base && base <= last, then = first <= base + 1 && base + 1 <= last;
            if (share === 0 || (now && then)) return now ? EVERYWHERE : null;
            if (base === 0) return now ? cut : then ? EVERYWHERE : null;
            return now ? EVERYWHERE : then ? cut : null;
        });
    }

    // Draws with the next picture of the screen.
    draw() {
        if (this.waiting) return;
        this.waiting = requestAnimationFrame(() => {
            this.waiting = 0;
            this.drawNow();
        });
    }

    drawNow() {
        const { gl, canvas, view } = this;
        if (gl.isContextLost()) return;
        const ratio = Math.min(devicePixelRatio || 1, 2);
        const [wide, high] = [canvas.clientWidth, canvas.clientHeight].map((n) => Math.max(1, Math.round(n * ratio)));
        if (canvas.width !== wide || canvas.height !== high) Object.assign(canvas, { width: wide, height: high });
        const heights = this.heights();
        const lamp = direction(view.bearing - 38, 46);
        const lampView = this.lampMatrix(lamp);
        gl.bindFramebuffer(gl.FRAMEBUFFER, this.target);
        gl.viewport(0, 0, this.texels, this.texels);
        gl.clear(gl.DEPTH_BUFFER_BIT);
        gl.enable(gl.POLYGON_OFFSET_FILL);
        gl.polygonOffset(1.5, 3);
        gl.useProgram(this.shadow.program);
        gl.uniformMatrix4fv(this.shadow.place("clip_from_world"), false, lampView);
        this.parts.forEach((_, i) => {
            if (heights[i] === null) return;
            gl.uniform1f(this.shadow.place("cut_height"), heights[i]);
            this.drawVertices(this.drawn[i]);
        });
        gl.disable(gl.POLYGON_OFFSET_FILL);

        const { eye, matrix } = this.camera(wide / high);
        gl.bindFramebuffer(gl.FRAMEBUFFER, null);
        gl.viewport(0, 0, wide, high);
        gl.clearColor(0, 0, 0, 0);
        gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT | gl.STENCIL_BUFFER_BIT);
        const { program, place } = this.surface;
        gl.useProgram(program);
        gl.uniformMatrix4fv(place("clip_from_world"), false, matrix);
        gl.uniformMatrix4fv(place("lamp_from_world"), false, lampView);
        gl.uniform3fv(place("eye_place"), eye);
        gl.uniform3fv(place("lamp_direction"), lamp);
        gl.uniform1f(place("shadow_texel"), (2 * this.lampReach()) / this.texels);
        gl.uniform1i(place("shadow_map"), 0);
        gl.bindTexture(gl.TEXTURE_2D, this.map);
        const light = this.model.light;
        for (const key of ["reflectance", "ceiling", "bounce", "lamp"]) gl.uniform1f(place("cake." + key), light[key]);
        gl.uniform1f(place("cake.reach"), 2.6 * this.radius);
        // The cake stands on height 0, and lengths are in mm.
        gl.uniform1f(place("cake.foot"), 0);
        gl.uniform1f(place("cake.mm_per_unit"), 1);
        this.parts.forEach((_, i) => heights[i] !== null && this.drawPart(i, heights[i], matrix));
        gl.uniform1i(place("cake.look"), 4);
        gl.uniform1f(place("cut_height"), 1e9);
        gl.enable(gl.BLEND);
        gl.depthMask(false);
        this.drawVertices(this.ground);
        gl.depthMask(true);
        gl.disable(gl.BLEND);
    }

    // Where the eye is, and the matrix from the world to the picture's clip space.
    camera(aspect) {
        const { view } = this, half = (13 * Math.PI) / 180;
        const toEye = direction(view.bearing, view.elevation);
        const distance = this.distance(aspect, half) * view.distance;
        const eye = this.middle.map((n, i) => n + distance * toEye[i]);
        const right = direction(view.bearing + 90, 0), up = cross(toEye, right);
        const [near, far] = [Math.max(distance - 3 * this.radius, distance / 100), distance + 5 * this.radius];
        const scale = 1 / Math.tan(half);
        const perspective = [
            scale / aspect, 0, 0, 0, 0, scale, 0, 0,
            0, 0, (far + near) / (near - far), -1, 0, 0, (2 * far * near) / (near - far), 0,
        ];
        return { eye, matrix: product(perspective, rotation(right, up, toEye, eye)) };
    }

    // A part up to a height; where it is cut its inside is closed at that level.
    drawPart(i, height, matrix) {
        const { gl, parts, drawn } = this, { program, place } = this.surface;
        const isCut = height < 1e8;
        gl.uniform1f(place("cut_height"), height);
        // Baked layers are sponge with a crust.
        const isBaked = parts[i].look === 5;
        gl.uniform1i(place("cake.look"), isBaked ? 1 : parts[i].look);
        gl.uniform1f(place("cake.crust"), isBaked ? 1 : 0);
        gl.uniform1f(place("cake.roughness"), parts[i].look === 0 ? this.model.light.icing : this.model.light.other);
        gl.uniform3fv(place("cake.colour"), linear(this.colours[i]));
        // What is painted or brushed on, each with where it fades and how far it mirrors like metal.
        const tints = new Float32Array(16), fades = new Float32Array(16).map((_, k) => [1e8, 1e9, 0, 0][k % 4]);
        parts[i].tints.forEach((tint, k) => {
            tints.set([...linear(tint.colour), tint.opacity], 4 * k);
            fades.set(tint.fade, 4 * k);
        });
        gl.uniform4fv(place("cake.tints"), tints);
        gl.uniform4fv(place("cake.fades"), fades);
        gl.enable(gl.CULL_FACE);
        gl.cullFace(gl.BACK);
        this.drawVertices(drawn[i]);
        if (isCut) {
            // A line of sight that leaves a closed solid more often than it enters it came in through the cut: these pixels
            // are marked in the stencil, and only there is the cut drawn.
            gl.useProgram(this.shadow.program);
            gl.uniformMatrix4fv(this.shadow.place("clip_from_world"), false, matrix);
            gl.uniform1f(this.shadow.place("cut_height"), height);
            gl.disable(gl.CULL_FACE);
            gl.disable(gl.DEPTH_TEST);
            gl.depthMask(false);
            gl.colorMask(false, false, false, false);
            gl.enable(gl.STENCIL_TEST);
            gl.stencilFunc(gl.ALWAYS, 0, 255);
            gl.stencilOpSeparate(gl.FRONT, gl.KEEP, gl.KEEP, gl.DECR_WRAP);
            gl.stencilOpSeparate(gl.BACK, gl.KEEP, gl.KEEP, gl.INCR_WRAP);
            this.drawVertices(drawn[i]);
            gl.enable(gl.DEPTH_TEST);
            gl.depthMask(true);
            gl.colorMask(true, true, true, true);
            gl.enable(gl.CULL_FACE);
            gl.cullFace(gl.FRONT);
            gl.stencilFunc(gl.NOTEQUAL, 0, 255);
            gl.stencilOp(gl.KEEP, gl.KEEP, gl.KEEP);
            gl.useProgram(program);
            this.drawVertices(drawn[i]);
            gl.disable(gl.STENCIL_TEST);
            gl.clear(gl.STENCIL_BUFFER_BIT);
        }
        gl.disable(gl.CULL_FACE);
    }

    drawVertices({ array, count }) {
        this.gl.bindVertexArray(array);
        this.gl.drawElements(this.gl.TRIANGLES, count, this.gl.UNSIGNED_INT, 0);
    }

    // From where the first look holds everything, with a margin.
    distance(aspect, half) {
        const MARGIN = 1.04;
        const elevation = (Viewer.home.elevation * Math.PI) / 180;
        const tall = (this.high[1] - this.low[1]) / 2;
        const up = tall * Math.cos(elevation) + this.reach * Math.sin(elevation);
        return MARGIN * Math.max(this.reach / aspect, up) / Math.tan(half) + this.reach;
    }

    lampReach() {
        return 1.35 * this.radius;
    }

    // Straight along the light, as wide as the cake with its shadow.
    lampMatrix(lamp) {
        const across = unit(cross([0, 1, 0], lamp)), over = cross(lamp, across);
        const reach = this.lampReach();
        const flat = [1 / reach, 0, 0, 0, 0, 1 / reach, 0, 0, 0, 0, -0.5 / reach, 0, 0, 0, 0, 1];
        return product(flat, rotation(across, over, lamp, this.middle));
    }
}
