//! Connected components of a mesh.

use super::TriMesh;

impl TriMesh {
    /// The connected component of every vertex, numbered from 0 in the order of the vertices, and how many there are.
    /// Vertices that no triangle uses are components of their own.
    pub fn connected_components(&self) -> (Vec<u32>, usize) {
        let mut parent: Vec<u32> = (0..self.positions.len() as u32).collect();
        for t in &self.triangles {
            let [a, b, c] = t.map(|v| root(&mut parent, v));
            let least = a.min(b).min(c);
            for v in [a, b, c] {
                parent[v as usize] = least;
            }
        }
        let mut count = 0;
        let mut component = vec![0; parent.len()];
        for v in 0..parent.len() {
            let root = root(&mut parent, v as u32) as usize;
            // A root is the least of its component, so that it has its number already.
            component[v] = if root == v { count } else { component[root] };
            count += u32::from(root == v);
        }
        (component, count as usize)
    }
}

/// The root of `v`'s tree of parents, with paths halved on the way (union–find).
fn root(parent: &mut [u32], mut v: u32) -> u32 {
    while parent[v as usize] != v {
        parent[v as usize] = parent[parent[v as usize] as usize];
        v = parent[v as usize];
    }
    v
}
