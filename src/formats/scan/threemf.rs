//! 3MF → triangles, every object of the build where its items and components put it.
//!
//! A 3MF file is a ZIP archive and can claim anything. Before the library that knows the format opens it, every
//! entry is unpacked once into nothing and counted, so that an archive which swells to fill the memory is refused
//! while it is small; so is one whose objects are put together from objects without end, which `lib3mf` 0.1 would
//! follow one by one.

use std::{
    collections::HashMap,
    io::{self, Cursor, Read},
};

use glam::{DAffine3, DMat3, DVec3, dvec3};
use lib3mf::{Model as Package, Object, ObjectType, ParserConfig, SpecConformance};
use zip::ZipArchive;

use super::{
    Axis, MOST_TRIANGLES, Model, ScanError,
    components::{Components, NamedLook},
    gltf::stays_beside,
};
use geom::TriMesh;

/// Most that all entries of an archive may come to unpacked, bytes: some ten million triangles.
const MOST_UNPACKED: u64 = 1 << 30;

/// An archive with more entries than this is no model.
const MOST_ENTRIES: usize = 10_000;

/// Objects in objects go no deeper than this.
const DEEPEST: usize = 32;

/// Reads a 3MF file.
pub(super) fn read(bytes: &[u8]) -> Result<Model, ScanError> {
    let missing = check_archive(bytes)?;
    let config = ParserConfig::with_all_extensions().with_spec_conformance(SpecConformance::Lenient);
    let package =
        Package::from_reader_with_config(Cursor::new(bytes), config).map_err(|error| match missing {
            // Which the library refuses only in some files.
            Some(NamedLook { look, object, triangle }) => ScanError::NoLook { look, object, triangle },
            None => damaged(first_line(&error.to_string())),
        })?;
    let unit = unit_in_mm(&package.unit)
        .ok_or_else(|| damaged(format!("its unit \"{}\" is unknown", package.unit)))?;
    let objects: HashMap<usize, &Object> =
        package.resources.objects.iter().map(|object| (object.id, object)).collect();
    let mut maker = Maker { objects, counts: HashMap::new(), mesh: TriMesh::default() };
    let mut all = 0usize;
    for item in &package.build.items {
        if item.production_path.is_some() {
            return Err(in_parts());
        }
        all = all.saturating_add(maker.count(item.objectid, 0)?);
    }
    if all > MOST_TRIANGLES {
        return Err(ScanError::TooMany { triangles: all });
    }
    for item in &package.build.items {
        maker.add(item.objectid, affine(item.transform))?;
    }
    let shown = |object: &&Object| object.object_type == ObjectType::Model;
    let other = package
        .build
        .items
        .iter()
        .filter_map(|item| maker.objects.get(&item.objectid))
        .filter(|o| !shown(o))
        .count();
    let mut notes = Vec::new();
    if other > 0 {
        notes.push(format!("{other} objects that are supports or surfaces were left out"));
    }
    if let Some(NamedLook { look, object, triangle }) = missing {
        let missing = ScanError::NoLook { look, object, triangle };
        notes.push(format!("{missing}; its shape is read all the same"));
    }
    Ok(Model { mesh: maker.mesh, unit: Some(unit), axes: (Axis::Z, Axis::MinusY), notes })
}

fn damaged(problem: String) -> ScanError {
    ScanError::Damaged { format: "3MF", problem }
}

fn in_parts() -> ScanError {
    damaged("its parts lie in several model files; export it as one".into())
}

fn first_line(text: &str) -> String {
    text.lines().next().unwrap_or("").to_owned()
}

/// Unpacks every entry into nothing, and looks at its name and at what its objects are put together from; the first
/// material that is named and not there.
fn check_archive(bytes: &[u8]) -> Result<Option<NamedLook>, ScanError> {
    let not_zip = |error: zip::result::ZipError| damaged(format!("it is no whole ZIP archive: {error}"));
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(not_zip)?;
    if archive.len() > MOST_ENTRIES {
        return Err(damaged(format!("it has {} entries", archive.len())));
    }
    let (mut left, mut missing) = (MOST_UNPACKED, None);
    for index in 0..archive.len() {
        let entry = archive.by_index(index).map_err(not_zip)?;
        let name = entry.name().map_err(not_zip)?.into_owned();
        if !stays_beside(name.trim_start_matches('/')) {
            return Err(ScanError::Elsewhere { name });
        }
        let mut components = Components::default();
        let unpacked = io::copy(&mut entry.take(left + 1), &mut components)
            .map_err(|error| damaged(format!("its entry \"{name}\" cannot be unpacked: {error}")))?;
        left = left.checked_sub(unpacked).ok_or(ScanError::Swells { most: MOST_UNPACKED })?;
        components.check().map_err(damaged)?;
        missing = missing.or(components.missing_look());
    }
    Ok(missing)
}

/// Millimetres in a unit of the standard (core specification, section 3.4).
fn unit_in_mm(unit: &str) -> Option<f64> {
    match unit {
        "micron" => Some(0.001),
        "" | "millimeter" => Some(1.0),
        "centimeter" => Some(10.0),
        "inch" => Some(25.4),
        "foot" => Some(304.8),
        "meter" => Some(1000.0),
        _ => None,
    }
}

/// Rows of the standard are what a row vector is multiplied with.
fn affine(rows: Option<[f64; 12]>) -> DAffine3 {
    let Some(m) = rows else { return DAffine3::IDENTITY };
    let row = |i: usize| dvec3(m[3 * i], m[3 * i + 1], m[3 * i + 2]);
    DAffine3 { matrix3: DMat3::from_cols(row(0), row(1), row(2)), translation: row(3) }
}

struct Maker<'a> {
    objects: HashMap<usize, &'a Object>,
    /// Triangles of each object with all its components.
    counts: HashMap<usize, usize>,
    mesh: TriMesh,
}

impl<'a> Maker<'a> {
    fn object(&self, id: usize) -> Result<&'a Object, ScanError> {
        self.objects.get(&id).copied().ok_or_else(|| damaged(format!("object {id} is not there")))
    }

    /// How many triangles an object comes to.
    fn count(&mut self, id: usize, depth: usize) -> Result<usize, ScanError> {
        if let Some(count) = self.counts.get(&id) {
            return Ok(*count);
        }
        if depth > DEEPEST {
            return Err(damaged("its objects lie in each other without end".into()));
        }
        let object = self.object(id)?;
        let mut count = object.mesh.as_ref().map_or(0, |mesh| mesh.triangles.len());
        for component in &object.components {
            if component.path.is_some() || component.production.as_ref().is_some_and(|p| p.path.is_some()) {
                return Err(in_parts());
            }
            count = count.saturating_add(self.count(component.objectid, depth + 1)?.max(1));
        }
        self.counts.insert(id, count);
        Ok(count)
    }

    fn add(&mut self, id: usize, to_build: DAffine3) -> Result<(), ScanError> {
        let object = self.object(id)?;
        if object.object_type != ObjectType::Model {
            return Ok(());
        }
        if let Some(mesh) = &object.mesh {
            let base = self.mesh.positions.len();
            let mirrored = to_build.matrix3.determinant() < 0.0;
            let place = |v: &lib3mf::Vertex| to_build.transform_point3(DVec3::new(v.x, v.y, v.z));
            self.mesh.positions.extend(mesh.vertices.iter().map(place));
            for t in &mesh.triangles {
                let [a, b, c] = [t.v1, t.v2, t.v3].map(|v| (v + base) as u32);
                self.mesh.triangles.push(if mirrored { [a, c, b] } else { [a, b, c] });
            }
        }
        object
            .components
            .iter()
            .try_for_each(|part| self.add(part.objectid, to_build * affine(part.transform)))
    }
}
