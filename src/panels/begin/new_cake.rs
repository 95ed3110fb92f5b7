//! The cake file that a new cake begins with, made of what the maker has.

use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
};

use cakefile::FieldPath;
use cakefile::edit::{Document, Edit, EditValue};
use geom::units::Unit;

/// What a new cake is made of.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
pub enum Made {
    /// A picture of a half outline, or of a whole one that is turned.
    #[default]
    OnePicture,
    /// A picture of the front and one of the side.
    TwoPictures,
    /// A drawing of a half outline that is turned.
    Drawing,
    /// A drawing of the front and one of the side.
    TwoDrawings,
    /// A model.
    Model,
    /// Nothing yet: an outline to be drawn by hand.
    ByHand,
}

impl Made {
    /// All, as they are offered.
    pub const ALL: [Self; 6] =
        [Self::TwoPictures, Self::OnePicture, Self::TwoDrawings, Self::Drawing, Self::Model, Self::ByHand];

    /// What it is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::OnePicture => "A picture, turned",
            Self::TwoPictures => "A front and a side picture",
            Self::Drawing => "A drawing, turned",
            Self::TwoDrawings => "A front and a side drawing",
            Self::Model => "A model",
            Self::ByHand => "Drawn by hand",
        }
    }

    /// What it is for.
    pub fn help(self) -> &'static str {
        match self {
            Self::OnePicture => {
                "A photograph or drawing of the template of a round shape, as a vase or a bell."
            }
            Self::TwoPictures => {
                "Photographs or drawings of the front and the side template, as of a fox or a shoe."
            }
            Self::Drawing => "An SVG drawing of the half outline of a round shape.",
            Self::TwoDrawings => "SVG drawings of the front and the side.",
            Self::Model => "A model from a scanner or a modelling program: STL, OBJ, 3MF or glTF.",
            Self::ByHand => "A plain round shape to begin with; drag its outline.",
        }
    }

    /// What each file is, with the endings that it may have.
    pub fn files(self) -> &'static [(&'static str, &'static [&'static str])] {
        const PICTURE: &[&str] = &["png", "jpg", "jpeg"];
        const DRAWING: &[&str] = &["svg"];
        const MODEL: &[&str] = &["stl", "obj", "3mf", "glb", "gltf"];
        match self {
            Self::OnePicture => &[("Picture", PICTURE)],
            Self::TwoPictures => &[("Front", PICTURE), ("Side", PICTURE)],
            Self::Drawing => &[("Drawing", DRAWING)],
            Self::TwoDrawings => &[("Front", DRAWING), ("Side", DRAWING)],
            Self::Model => &[("Model", MODEL)],
            Self::ByHand => &[],
        }
    }

    /// What this file may be made into: the first that takes such a file; `None` for a file of another kind.
    pub fn of_file(file: &Path) -> Option<Self> {
        [Self::TwoPictures, Self::Drawing, Self::Model]
            .into_iter()
            .find(|made| made.files().iter().any(|(_, endings)| has_ending(file, endings)))
    }

    /// Whether a height has to be given: nothing else says how large the cake is.
    pub fn needs_height(self) -> bool {
        matches!(self, Self::OnePicture | Self::TwoPictures | Self::Model | Self::ByHand)
    }
}

/// What is filled in before a new cake is begun.
#[derive(Debug, Clone, PartialEq)]
pub struct NewCake {
    /// What it is made of.
    pub made: Made,
    /// What it is called.
    pub name: String,
    /// Unit of bare numbers.
    pub unit: Unit,
    /// Its height, as it was typed.
    pub height: String,
    /// The files, in the order of [`Made::files`].
    pub files: [Option<PathBuf>; 2],
}

impl Default for NewCake {
    fn default() -> Self {
        Self {
            made: Made::TwoPictures,
            name: "My cake".into(),
            unit: Unit::Millimetre,
            height: "200 mm".into(),
            files: [None, None],
        }
    }
}

/// A new cake: its text and the files that it names.
#[derive(Debug, Clone, PartialEq)]
pub struct Begun {
    /// The text.
    pub text: String,
    /// The files that lie beside it, by name.
    pub beside: BTreeMap<String, Vec<u8>>,
}

impl NewCake {
    /// Takes a file that was dropped on the window, where the next one is missing. Whether it is of a kind that a cake can
    /// be made of.
    pub fn take_file(&mut self, file: &Path) -> bool {
        let fits = |made: Made| made.files().iter().any(|(_, endings)| has_ending(file, endings));
        if !fits(self.made) {
            let Some(made) = Made::of_file(file) else { return false };
            self.made = made;
            self.files = [None, None];
        }
        let places = self.made.files().len();
        let free = self.files[..places].iter().position(Option::is_none).unwrap_or(0);
        self.files[free] = Some(file.to_owned());
        true
    }

    /// What is still missing, or wrong, in a sentence; `None` when the cake can be begun.
    pub fn missing(&self) -> Option<String> {
        if self.name.trim().is_empty() {
            return Some("Give the cake a name.".into());
        }
        for ((what, endings), file) in self.made.files().iter().zip(&self.files) {
            match file {
                None => return Some(format!("Choose the {} ({}).", what.to_lowercase(), endings.join(", "))),
                Some(file) if !has_ending(file, endings) => {
                    return Some(format!("{} must be one of: {}.", file.display(), endings.join(", ")));
                }
                Some(_) => {}
            }
        }
        if self.made.needs_height() {
            match geom::units::parse_length(&self.height, self.unit) {
                Err(error) => return Some(format!("Height: {error}.")),
                Ok(mm) if mm <= 0.0 => return Some("The height must be above 0.".into()),
                Ok(_) => {}
            }
        }
        None
    }

    /// The cake, with the files read by `read`.
    ///
    /// # Errors
    /// A file that cannot be read, in a sentence.
    pub fn begin(&self, read: impl Fn(&Path) -> std::io::Result<Vec<u8>>) -> Result<Begun, String> {
        let mut beside = BTreeMap::new();
        let mut names = Vec::new();
        for (_, file) in self.made.files().iter().zip(&self.files) {
            let Some(file) = file else { continue };
            let bytes = read(file).map_err(|error| format!("{}: {error}", file.display()))?;
            let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
            // The front and the side may be called alike in two folders.
            let name = if beside.contains_key(&name) { format!("side-{name}") } else { name };
            beside.insert(name.clone(), bytes);
            names.push(name);
        }
        Ok(Begun { text: self.text(&names), beside })
    }

    fn text(&self, files: &[String]) -> String {
        let unit = self.unit.sign();
        let top = |key: &str| FieldPath::root().key(key);
        let frame = format!(
            "# Lengths are numbers in the unit below, or text with a unit of its own: 203, \"20.3 cm\", \"8 in\".\n\
             crumbline = 2\nname = \"\"\nunit = \"{unit}\"\n\n[board]\nround = \"12 in\"\nthickness = \"1/2 in\"\n\n\
             [[covering]]\nmaterial = \"rolled icing\"\n\
             thickness = \"3 mm\"\n\n[[covering]]\nmaterial = \"ganache\"\nthickness = \"6 mm\"\n"
        );
        let edits = [
            Edit::Set { path: top("name"), value: self.name.trim().into() },
            Edit::Insert { path: top("shape"), value: self.shape(files) },
        ];
        // It can only be refused where the frame above is wrong, which the tests would tell.
        Document::from_text("", frame.clone())
            .apply(&Edit::Many(edits.into()))
            .map_or(frame, |applied| applied.document.text().to_owned())
    }

    fn shape(&self, files: &[String]) -> EditValue {
        let height = || ("height", EditValue::from(self.height.trim()));
        let file = |i: usize| ("file", EditValue::from(files.get(i).map_or("", String::as_str)));
        let inside = |kind: &str, value: EditValue| EditValue::table([(kind, value)]);
        match self.made {
            Made::OnePicture => {
                inside("turned", EditValue::table([("picture", EditValue::table([file(0), height()]))]))
            }
            Made::Drawing => inside("turned", EditValue::table([("svg", EditValue::table([file(0)]))])),
            Made::TwoPictures => {
                let view = |i| EditValue::table([("picture", EditValue::inline([file(i), height()]))]);
                inside("crossed", EditValue::table([("front", view(0)), ("side", view(1))]))
            }
            Made::TwoDrawings => {
                let view = |i| EditValue::table([("svg", EditValue::inline([file(i)]))]);
                inside("crossed", EditValue::table([("front", view(0)), ("side", view(1))]))
            }
            Made::Model => inside("scanned", EditValue::table([file(0), height()])),
            Made::ByHand => {
                let mm = geom::units::parse_length(&self.height, self.unit).unwrap_or(200.0);
                let form = cakefile::edit::LengthForm::bare(self.unit);
                let at = |x: f64, z: f64| {
                    let one = |mm: f64| form.write(mm.round()).unwrap_or(EditValue::Integer(0));
                    EditValue::Array(vec![one(x), one(z)])
                };
                // Half as wide as it is high, with a domed top.
                let (half, shoulder) = (mm / 2.0, mm * 0.75);
                let pieces = vec![
                    EditValue::inline([("to", at(half, shoulder))]),
                    EditValue::inline([
                        ("to", at(0.0, mm)),
                        ("curve", EditValue::Array(vec![at(half, mm * 0.92), at(half * 0.6, mm)])),
                    ]),
                ];
                inside(
                    "turned",
                    EditValue::table([("from", at(half, 0.0)), ("draw", EditValue::Array(pieces))]),
                )
            }
        }
    }
}

fn has_ending(file: &Path, endings: &[&str]) -> bool {
    let ending = file.extension().unwrap_or_default().to_string_lossy().to_lowercase();
    endings.contains(&ending.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;
    use cakefile::CakeFile;

    fn begun(new: &NewCake) -> Begun {
        assert_eq!(new.missing(), None);
        new.begin(|file| Ok(file.display().to_string().into_bytes())).unwrap()
    }

    #[test]
    fn every_beginning_is_a_cake_file_that_names_its_files() {
        for made in Made::ALL {
            for unit in [Unit::Millimetre, Unit::Centimetre, Unit::Inch] {
                let mut new = NewCake { made, unit, name: "A \"fox\"\nof two".into(), ..NewCake::default() };
                for (i, (_, endings)) in made.files().iter().enumerate() {
                    new.files[i] = Some(PathBuf::from(format!("from-{i}/template.{}", endings[0])));
                }
                let begun = begun(&new);
                let reading = CakeFile::from_text("cake", "", begun.text.as_str()).parse();
                assert!(!reading.has_errors(), "{made:?}: {:?}\n{}", reading.problems, begun.text);
                assert_eq!(begun.beside.len(), made.files().len(), "{made:?}");
                for name in begun.beside.keys() {
                    assert!(begun.text.contains(&format!("file = \"{name}\"")), "{}", begun.text);
                }
            }
        }
    }

    #[test]
    fn a_file_that_is_dropped_goes_where_one_is_missing() {
        let mut new = NewCake::default();
        for file in ["front.png", "side.JPG"] {
            assert!(new.take_file(Path::new(file)));
        }
        assert_eq!(new.files, [Some("front.png".into()), Some("side.JPG".into())]);
        assert!(!new.take_file(Path::new("list.txt")), "nothing is made of a list");
        assert_eq!(new.files[0], Some("front.png".into()));
        assert!(new.take_file(Path::new("cat.glb")));
        assert_eq!((new.made, new.files), (Made::Model, [Some("cat.glb".into()), None]));
    }

    #[test]
    fn what_is_missing_is_said() {
        let new = NewCake::default();
        assert_eq!(new.missing().unwrap(), "Choose the front (png, jpg, jpeg).");
        let wrong = NewCake { files: [Some("a.txt".into()), None], ..NewCake::default() };
        assert!(wrong.missing().unwrap().contains("must be one of: png"));
        let high = NewCake { made: Made::ByHand, height: "tall".into(), ..NewCake::default() };
        assert!(high.missing().unwrap().starts_with("Height: "));
        assert_eq!(NewCake { made: Made::ByHand, ..NewCake::default() }.missing(), None);
    }
}
