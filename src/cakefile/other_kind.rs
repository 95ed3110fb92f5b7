//! Files that are given as cake files and are none, told by how they begin.

/// What a file is that is no cake file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum OtherKind {
    /// A 3D model.
    Model,
    /// A picture.
    Picture,
    /// A drawing.
    Drawing,
    /// A page.
    Page,
}

impl OtherKind {
    /// By the first bytes, as each format sets them down; `None` for anything else.
    pub fn of(bytes: &[u8]) -> Option<Self> {
        let begins = |with: &[u8]| bytes.starts_with(with);
        let text = bytes.trim_ascii_start();
        // A binary STL has eighty bytes of its own, then the number of its triangles of fifty bytes each.
        let count = bytes.get(80..84).and_then(|four| four.try_into().ok()).map(u32::from_le_bytes);
        let is_stl = count.is_some_and(|count| count > 0 && bytes.len() as u64 == 84 + 50 * u64::from(count));
        if begins(b"glTF") || begins(b"PK\x03\x04") || is_stl || is_text_model(text) {
            Some(Self::Model)
        } else if begins(b"\x89PNG") || begins(b"\xff\xd8\xff") || begins(b"GIF8") {
            Some(Self::Picture)
        } else if text.starts_with(b"<svg") || text.starts_with(b"<?xml") {
            Some(Self::Drawing)
        } else {
            begins(b"%PDF").then_some(Self::Page)
        }
    }

    /// What it is, in words.
    pub fn describe(self) -> &'static str {
        match self {
            Self::Model => "a 3D model",
            Self::Picture => "a picture",
            Self::Drawing => "a drawing",
            Self::Page => "a page (PDF)",
        }
    }

    /// What to do instead.
    pub fn fix(self) -> &'static str {
        match self {
            Self::Model => {
                "name it in a cake file under `[shape]`, or begin a new cake from it in the window"
            }
            Self::Picture => "`trace` makes an outline of it; in the window a new cake begins from pictures",
            Self::Drawing => {
                "name it in a cake file as the outline of a shape, or begin a new cake from it in the window"
            }
            Self::Page => "give the cake file, which ends in .cake.toml",
        }
    }
}

/// A text STL: a solid, and then its faces; or an OBJ, whose first line that is no remark is a corner, a name or its
/// materials.
fn is_text_model(text: &[u8]) -> bool {
    let head = String::from_utf8_lossy(&text[..text.len().min(2000)]).into_owned();
    let is_stl = head.starts_with("solid") && head.contains("facet ");
    let first = head.lines().map(str::trim).find(|line| !line.is_empty() && !line.starts_with('#'));
    let of_obj = ["v ", "o ", "g ", "mtllib ", "vn "];
    is_stl || first.is_some_and(|line| of_obj.iter().any(|key| line.starts_with(key)) && !line.contains('='))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_of_other_kinds_are_told_by_how_they_begin() {
        let mut stl = vec![0u8; 84 + 50];
        stl[80] = 1;
        let files: [(&[u8], Option<OtherKind>); 10] = [
            (b"glTF\x02\0\0\0", Some(OtherKind::Model)),
            (b"PK\x03\x04mimetype", Some(OtherKind::Model)),
            (&stl, Some(OtherKind::Model)),
            (b"solid hen\n facet normal 0 0 1\n", Some(OtherKind::Model)),
            (b"\x89PNG\r\n\x1a\n", Some(OtherKind::Picture)),
            (b"\xff\xd8\xff\xe0", Some(OtherKind::Picture)),
            (b"\n<svg xmlns='http://www.w3.org/2000/svg'/>", Some(OtherKind::Drawing)),
            (b"# made by hand\nmtllib hen.mtl\no hen\nv 0 0 1\n", Some(OtherKind::Model)),
            (b"%PDF-1.7", Some(OtherKind::Page)),
            (b"crumbline = 2\nname = \"Solid oak\"\n", None),
        ];
        for (bytes, kind) in files {
            assert_eq!(OtherKind::of(bytes), kind, "{}", String::from_utf8_lossy(bytes));
        }
    }
}
