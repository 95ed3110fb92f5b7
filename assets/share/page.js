"use strict";
// What the client does on the page: turns the cake, sees how it is made, chooses, and gets a text that names the choices.

const byId = (id) => document.getElementById(id);
const read = (id) => JSON.parse(byId(id).textContent);
const model = read("model");
const words = model.words;
const calm = matchMedia("(prefers-reduced-motion: reduce)");

// ── The cake ──
async function begin() {
    const packed = Uint8Array.from(atob(byId("meshes").textContent), (c) => c.charCodeAt(0));
    const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
    const bytes = new Uint8Array(await new Response(stream).arrayBuffer());
    const viewer = new Viewer(byId("cake"), model, unpacked(model, bytes), read("shaders"));
    colour(viewer);
    viewer.drawNow();
    byId("seen").classList.add("ready");
    turning(viewer);
    making(viewer);
    document.querySelectorAll("#choices input[type=radio]").forEach((input) =>
        input.addEventListener("change", () => (colour(viewer), viewer.draw())),
    );
    addEventListener("beforeprint", () => viewer.drawNow());
}

function turning(viewer) {
    const { canvas, view } = viewer;
    const turn = (bearing, elevation) => {
        view.bearing = (view.bearing + bearing) % 360;
        view.elevation = Math.max(-4, Math.min(80, view.elevation + elevation));
        viewer.draw();
    };
    const zoom = (factor) => {
        view.distance = Math.max(0.3, Math.min(2.5, view.distance * factor));
        viewer.draw();
    };
    const home = () => (Object.assign(view, Viewer.home), viewer.draw());
    // Touches and the pressed mouse by their number: one turns, two zoom.
    const pressed = new Map();
    const apart = () => {
        const [a, b] = [...pressed.values()];
        return Math.hypot(a.x - b.x, a.y - b.y);
    };
    canvas.addEventListener("pointerdown", (event) => {
        canvas.setPointerCapture(event.pointerId);
        pressed.set(event.pointerId, { x: event.clientX, y: event.clientY });
    });
    canvas.addEventListener("pointermove", (event) => {
        const before = pressed.get(event.pointerId);
        if (!before) return;
        const old = pressed.size === 2 ? apart() : 0;
        pressed.set(event.pointerId, { x: event.clientX, y: event.clientY });
        if (pressed.size === 1) turn((before.x - event.clientX) * 0.4, (event.clientY - before.y) * 0.3);
        if (pressed.size === 2 && old > 0) zoom(old / Math.max(apart(), 1));
    });
    for (const end of ["pointerup", "pointercancel"]) {
        canvas.addEventListener(end, (event) => pressed.delete(event.pointerId));
    }
    // The wheel scrolls the page; with Ctrl, which a touchpad's pinch sends, it zooms.
    canvas.addEventListener("wheel", (event) => {
        if (!event.ctrlKey) return;
        event.preventDefault();
        zoom(Math.exp(event.deltaY * 0.004));
    }, { passive: false });
    const keys = {
        ArrowLeft: () => turn(-10, 0), ArrowRight: () => turn(10, 0),
        ArrowUp: () => turn(0, 6), ArrowDown: () => turn(0, -6),
        "+": () => zoom(0.85), "=": () => zoom(0.85), "-": () => zoom(1 / 0.85), Home: home,
    };
    canvas.addEventListener("keydown", (event) => {
        const act = keys[event.key];
        if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
        event.preventDefault();
        act();
    });
    byId("nearer").addEventListener("click", () => zoom(0.85));
    byId("farther").addEventListener("click", () => zoom(1 / 0.85));
    byId("left").addEventListener("click", () => turn(-20, 0));
    byId("right").addEventListener("click", () => turn(20, 0));
}

// From the baked stack to the finished cake.
function making(viewer) {
    const slider = byId("making"), told = byId("stage"), last = model.stages.length - 1;
    const show = (stage) => {
        viewer.view.stage = stage;
        slider.value = stage;
        const name = model.stages[Math.round(stage)];
        told.textContent = name;
        slider.setAttribute("aria-valuetext", name);
        viewer.draw();
    };
    slider.addEventListener("input", () => {
        // Close to a stage the slider stands on it.
        const at = Number(slider.value), near = Math.round(at);
        show(Math.abs(at - near) < 0.04 ? near : at);
    });
    let running = 0;
    byId("play").addEventListener("click", () => {
        cancelAnimationFrame(running);
        if (calm.matches) {
            show(viewer.view.stage >= last ? 0 : Math.floor(viewer.view.stage) + 1);
            return;
        }
        const PER_STAGE = 2600, PAUSE = 0.25;
        const start = performance.now();
        const step = (now) => {
            const at = Math.max(0, (now - start) / PER_STAGE);
            const done = Math.min(last, Math.floor(at) + Math.max(0, (at % 1) - PAUSE) / (1 - PAUSE));
            show(done);
            if (done < last) running = requestAnimationFrame(step);
        };
        running = requestAnimationFrame(step);
    });
    slider.addEventListener("pointerdown", () => cancelAnimationFrame(running));
    show(last);
}

// Gives every part the colour that is chosen for it.
function colour(viewer) {
    viewer.parts.forEach((part, i) => {
        const chosen = part.choice === null ? null : document.querySelector(`input[name="colour${part.choice}"]:checked`);
        viewer.colours[i] = chosen?.dataset.colour ?? part.colour;
    });
}

// ── The choices ──
// The text that `crumbline choices` reads: see src/shop/share/choices.rs.
function choicesText() {
    const lines = [words.want, "", `[choices ${model.mark}]`, `${words.cake}: ${model.name}`];
    const chosen = (name) => document.querySelector(`input[name="${name}"]:checked`).value;
    if (model.sizes) lines.push(`${words.serves}: ${chosen("serves")}`);
    model.choices.forEach((name, i) => lines.push(`${name} = ${chosen("colour" + i)}`));
    const remarks = byId("remarks").value.trim();
    if (remarks) lines.push(`${words.remarks}:`, ...remarks.split(/\r\n|\r|\n/).map((line) => `| ${line}`.trimEnd()));
    lines.push("[end of choices]", "");
    return lines.join("\n");
}

function answering() {
    const form = byId("choices"), answer = byId("answer"), text = byId("text"), mail = byId("mail");
    const MOST_IN_LINK = 1900;
    const write = () => {
        text.value = choicesText();
        text.rows = text.value.split("\n").length;
        if (!mail) return;
        const letter = `mailto:${model.email}?subject=${encodeURIComponent(words.subject)}&body=`;
        const body = encodeURIComponent(text.value.replaceAll("\n", "\r\n"));
        // Some programs cut long links off: then the text is pasted.
        mail.href = letter + (letter.length + body.length > MOST_IN_LINK ? "" : body);
    };
    form.addEventListener("submit", (event) => {
        event.preventDefault();
        write();
        answer.hidden = false;
        answer.focus();
        answer.scrollIntoView({ behavior: calm.matches ? "auto" : "smooth", block: "nearest" });
    });
    form.addEventListener("input", () => answer.hidden || write());
    byId("copy").addEventListener("click", async () => {
        text.select();
        try {
            await navigator.clipboard.writeText(text.value);
        } catch {
            document.execCommand("copy");
        }
        byId("copied").textContent = words.copied;
    });
}

document.documentElement.classList.add("scripted");
document.querySelectorAll("input[data-colour]").forEach((input) => {
    input.nextElementSibling.style.setProperty("--swatch", input.dataset.colour);
});
answering();
begin().catch((error) => {
    byId("seen").classList.add("failed");
    console.warn(error);
});
