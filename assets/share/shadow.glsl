// Fragment stage where no colour is wanted, for the shadow map and to find the cut: what is there.
uniform float cut_height;
in vec3 world_place;
in vec3 world_normal;

void main() {
    if (world_place.y > cut_height) {
        discard;
    }
}
