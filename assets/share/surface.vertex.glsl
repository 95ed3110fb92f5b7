// Vertex stage of every part, and of its shadow.
uniform mat4 clip_from_world;
in vec3 place;
in vec3 direction;
out vec3 world_place;
out vec3 world_normal;

void main() {
    world_place = place;
    world_normal = direction;
    gl_Position = clip_from_world * vec4(place, 1.0);
}
