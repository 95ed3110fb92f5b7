//! Which triangles of a mesh hang together.

use super::TriMesh;

impl TriMesh {
    /// A number for every vertex, the same for all that are joined by triangles, counted from 0 in the order of
    /// the vertices; and how many numbers there are. Vertices that no triangle uses are parts of their own.
    pub fn parts(&self) -> (Vec<u32>, usize) {
        let mut parent: Vec<u32> = (0..self.positions.len() as u32).collect();
        for t in &self.triangles {
            let [a, b, c] = t.map(|v| root(&mut parent, v));
            let least = a.min(b).min(c);
            for v in [a, b, c] {
                parent[v as usize] = least;
            }
        }
        let mut count = 0;
        let mut part = vec![0; parent.len()];
        for v in 0..parent.len() {
            let root = root(&mut parent, v as u32) as usize;
            // A root is the least of its part, so that it has its number already.
            part[v] = if root == v { count } else { part[root] };
            count += u32::from(root == v);
        }
        (part, count as usize)
    }
}

fn root(parent: &mut [u32], mut v: u32) -> u32 {
    while parent[v as usize] != v {
        parent[v as usize] = parent[parent[v as usize] as usize];
        v = parent[v as usize];
    }
    v
}
