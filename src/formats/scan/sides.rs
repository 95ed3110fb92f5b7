//! Which sides of triangles lie together.

/// A side of a triangle: the triangle's number times three, and which of its sides.
pub(super) type Side = u32;

/// The sides of all triangles, those between the same two corners together.
pub(super) struct Sides {
    /// Both corners, the lower first, and the side.
    sorted: Vec<(u64, Side)>,
}

impl Sides {
    pub fn of(triangles: &[[u32; 3]]) -> Self {
        let sides = || {
            (0u32..).zip(triangles).flat_map(|(i, t)| {
                [0, 1, 2].map(|k| (key(t[k as usize], t[(k as usize + 1) % 3]), 3 * i + k))
            })
        };
        let lower = |key: u64| (key >> 32) as usize;
        // Put together by their lower corners, of which each has few, and then in order.
        let corners = triangles.iter().flatten().max().map_or(0, |most| *most as usize + 1);
        let mut places = vec![0usize; corners + 1];
        sides().for_each(|(key, _)| places[lower(key) + 1] += 1);
        for corner in 0..corners {
            places[corner + 1] += places[corner];
        }
        let mut sorted = vec![(0, 0); 3 * triangles.len()];
        for side in sides() {
            let place = &mut places[lower(side.0)];
            sorted[*place] = side;
            *place += 1;
        }
        sorted.chunk_by_mut(|a, b| lower(a.0) == lower(b.0)).for_each(<[_]>::sort_unstable);
        Self { sorted }
    }

    /// The sides along each edge, in the order of its corners.
    pub fn edges(&self) -> impl Iterator<Item = &[(u64, Side)]> {
        self.sorted.chunk_by(|a, b| a.0 == b.0)
    }

    /// A number for each of `count` triangles, the same for all that hang together by edges, counted from 0 in the
    /// order of the triangles; and how many numbers there are.
    pub fn parts(&self, count: usize) -> (Vec<u32>, usize) {
        let mut parent: Vec<u32> = (0..count as u32).collect();
        for edge in self.edges() {
            for pair in edge.windows(2) {
                let [a, b] = [pair[0].1 / 3, pair[1].1 / 3].map(|triangle| root(&mut parent, triangle));
                parent[a.max(b) as usize] = a.min(b);
            }
        }
        let mut parts = 0;
        let mut part = vec![0; count];
        for triangle in 0..count {
            let root = root(&mut parent, triangle as u32) as usize;
            // A root comes before the rest of its part.
            part[triangle] = if root == triangle { parts } else { part[root] };
            parts += u32::from(root == triangle);
        }
        (part, parts as usize)
    }

    /// The sides along one edge.
    pub fn along(&self, a: u32, b: u32) -> &[(u64, Side)] {
        let key = key(a, b);
        let start = self.sorted.partition_point(|side| side.0 < key);
        let count = self.sorted[start..].iter().take_while(|side| side.0 == key).count();
        &self.sorted[start..start + count]
    }
}

fn root(parent: &mut [u32], mut at: u32) -> u32 {
    while parent[at as usize] != at {
        parent[at as usize] = parent[parent[at as usize] as usize];
        at = parent[at as usize];
    }
    at
}

fn key(a: u32, b: u32) -> u64 {
    u64::from(a.min(b)) << 32 | u64::from(a.max(b))
}

/// Where a side starts and ends.
pub(super) fn ends(triangles: &[[u32; 3]], side: Side) -> (u32, u32) {
    let t = triangles[(side / 3) as usize];
    let k = (side % 3) as usize;
    (t[k], t[(k + 1) % 3])
}

/// Sides whose edge has no other triangle, as the corners that they run between.
pub(super) fn open(triangles: &[[u32; 3]]) -> Vec<(u32, u32)> {
    Sides::of(triangles)
        .edges()
        .filter(|edge| edge.len() == 1)
        .map(|edge| ends(triangles, edge[0].1))
        .collect()
}
