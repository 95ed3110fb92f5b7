//! A bounding volume hierarchy of four children to a node, whose boxes are tested four at once.
//!
//! Boxes and distances are `f32`, made a hair larger and smaller, so that a box is never left out that holds
//! something nearer. What is found in the leaves is measured in `f64` by the caller.

use glam::{DVec3, Vec4};

/// Node boxes and what is in them.
#[derive(Debug, Clone, Copy)]
struct Node {
    lo: [Vec4; 3],
    hi: [Vec4; 3],
    /// Other nodes, or, from [`LEAF_BIT`] on, leaves; [`NOTHING`] where there are fewer than four.
    children: [u32; 4],
}

/// Children from here on are leaves.
const LEAF_BIT: u32 = 1 << 31;

const NOTHING: u32 = u32::MAX;

/// Boxes in boxes, four to a box.
#[derive(Debug, Clone, Default)]
pub(super) struct WideBvh {
    nodes: Vec<Node>,
    /// The furthest coordinate, mm.
    furthest: f64,
}

/// A box of the tree that this is made from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Entry {
    pub lo: DVec3,
    pub hi: DVec3,
    pub inside: Inside,
}

/// What is in a box of that tree.
#[derive(Debug, Clone, Copy)]
pub(super) enum Inside {
    /// Two more.
    Two([u32; 2]),
    /// The leaf of that number.
    Leaf(u32),
}

/// Most boxes that wait to be looked into: three for each level, of which there are at most 31.
const WAITING: usize = 96;

impl WideBvh {
    /// The boxes of a tree of twos whose root is box 0.
    pub fn new(count: usize, entry: impl Fn(u32) -> Entry) -> Self {
        let mut wide = Self::default();
        if count > 0 {
            let root = entry(0);
            wide.furthest = root.lo.abs().max(root.hi.abs()).max_element();
            wide.push(root, &entry);
        }
        wide
    }

    /// Adds what is in a box, and gives back where it stands.
    fn push(&mut self, root: Entry, entry: &impl Fn(u32) -> Entry) -> u32 {
        let mut inside = vec![root];
        // The largest box that can be divided gives way to its two, until there are four.
        while inside.len() < 4 {
            let size = |e: &Entry| (e.hi - e.lo).length_squared();
            let divided = (0..inside.len()).filter(|i| matches!(inside[*i].inside, Inside::Two(_)));
            let Some(i) = divided.max_by(|a, b| size(&inside[*a]).total_cmp(&size(&inside[*b]))) else {
                break;
            };
            let Inside::Two(two) = inside.swap_remove(i).inside else { break };
            inside.extend(two.map(entry));
        }
        let at = self.nodes.len();
        let (mut lo, mut hi) = ([Vec4::INFINITY; 3], [Vec4::INFINITY; 3]);
        for (i, entry) in inside.iter().enumerate() {
            for axis in 0..3 {
                lo[axis][i] = (entry.lo[axis] as f32).next_down();
                hi[axis][i] = (entry.hi[axis] as f32).next_up();
            }
        }
        self.nodes.push(Node { lo, hi, children: [NOTHING; 4] });
        for (i, of) in inside.into_iter().enumerate() {
            let child = match of.inside {
                Inside::Leaf(leaf) => LEAF_BIT | leaf,
                Inside::Two(_) => self.push(of, entry),
            };
            self.nodes[at].children[i] = child;
        }
        at as u32
    }

    /// Looks into the leaves that may hold something nearer to `p` than the square root of `limit`, the nearer
    /// first. `visit` gets a leaf and gives back the limit from there on.
    #[inline]
    pub fn traverse(&self, p: DVec3, limit: f64, mut visit: impl FnMut(u32) -> f64) {
        /// What coordinates and their difference lose at most when they are rounded, of the largest of them.
        const LOST: f64 = 4.0 * f32::EPSILON as f64;
        /// What the sum of squares loses at most.
        const LESS: f32 = 1.0 - 8.0 * f32::EPSILON;
        let above = |limit: f64| limit as f32 * (1.0 + 2.0 * f32::EPSILON);
        if self.nodes.is_empty() {
            return;
        }
        let slack = Vec4::splat((self.furthest.max(p.abs().max_element()) * LOST) as f32);
        let [x, y, z] = p.to_array().map(|along| Vec4::splat(along as f32));
        let mut limit = above(limit);
        let mut waiting = [(0.0f32, 0u32); WAITING];
        let mut count = 1;
        while count > 0 {
            count -= 1;
            let (distance, at) = waiting[count];
            if distance >= limit {
                continue;
            }
            if at & LEAF_BIT != 0 {
                limit = above(visit(at & !LEAF_BIT));
                continue;
            }
            let node = &self.nodes[at as usize];
            let off = |axis: usize, p: Vec4| (node.lo[axis] - p).max(p - node.hi[axis]) - slack;
            let [dx, dy, dz] = [off(0, x), off(1, y), off(2, z)].map(|off| off.max(Vec4::ZERO));
            let distances = ((dx * dx + dy * dy + dz * dz) * LESS).to_array();
            let from = count;
            for (distance, child) in distances.into_iter().zip(node.children) {
                if distance < limit && child != NOTHING {
                    // The nearest is looked into first, and so waits last.
                    let mut place = count;
                    while place > from && waiting[place - 1].0 < distance {
                        waiting[place] = waiting[place - 1];
                        place -= 1;
                    }
                    waiting[place] = (distance, child);
                    count += 1;
                }
            }
        }
    }
}
