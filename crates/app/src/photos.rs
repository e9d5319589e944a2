//! Photos of parts: kept byte for byte under the hash of what is stored.

use crate::code::{Code, Fault};
use crate::import::{FileIn, file_name};
use crate::names::Names;
use crate::shelf::{Shelf, store_fault};
use airshelf_catalog::ids::{Derived, first_revision, fold};
use airshelf_catalog::{Photo, PhotoRole, Uuid};
use airshelf_store::{BlobState, Scope};
use serde::Serialize;

/// A photo on the shelf.
#[derive(Clone, Debug, Serialize)]
pub struct PhotoReport {
    /// Its id.
    pub id: Uuid,
    /// The tag of the part it shows.
    pub tag: Option<String>,
    /// What it shows.
    pub role: Option<&'static str>,
    /// The file's name when it came in.
    pub file_name: Option<String>,
    /// SHA-256 of the stored bytes.
    pub sha256: String,
    /// Size.
    pub size_bytes: Option<i64>,
    /// `here`, `elsewhere` or `lost`.
    pub state: &'static str,
    /// A name for an exported copy, after its tag.
    pub export_name: String,
}

/// Photos that were kept, and files that were not.
#[derive(Clone, Debug, Serialize)]
pub struct AddedPhotos {
    /// Kept.
    pub photos: Vec<PhotoReport>,
    /// Not kept, and why.
    pub refused: Vec<Fault>,
}

impl Shelf {
    /// Keeps photos. Each is named after its part's tag (`PF-1.jpg`, `PF-1 pleats.jpg`, `PF-1_2.jpg`), or `tag` says whose it is.
    ///
    /// # Errors
    /// [`Fault`] if no part has the tag, or the role is none; a file that is no photo stands in the answer.
    pub fn add_photos(
        &mut self,
        files: &[FileIn],
        tag: Option<&str>,
        role: Option<&str>,
    ) -> Result<AddedPhotos, Fault> {
        let role = role.map(role_named).transpose()?;
        let records = self.store.records(Scope::Shelf).map_err(store_fault)?;
        let given =
            tag.map(|tag| self.find_row(Some(airshelf_catalog::EntityKind::Part), tag)).transpose()?;
        let mut rows = Vec::new();
        let mut refused = Vec::new();
        for file in files {
            let name = file_name(&file.path);
            if !is_photo(&file.bytes) {
                let what = format!("{} is no photo (JPEG, PNG, WebP, HEIC or TIFF)", file.path);
                refused.push(Fault::new(Code::UnreadableFile, what));
                continue;
            }
            let tags = records.parts.iter().filter_map(|p| Some((p.tag.as_deref()?, p.id)));
            let Some((part, rest)) =
                given.map(|part| (part, String::new())).or_else(|| named_after(name, tags))
            else {
                let what = format!("{} is named after no part on this shelf", file.path);
                refused.push(
                    Fault::new(Code::NotFound, what)
                        .hint("Name photos after tags (PF-1.jpg, PF-1 pleats.jpg), or say --tag TAG."),
                );
                continue;
            };
            let seen = PhotoRole::ALL.iter().copied().find(|r| fold(&rest).contains(r.name()));
            rows.push((part, role.or(seen), name, file));
        }
        let mut ids = Vec::new();
        let mut made = Vec::new();
        for (part, role, name, file) in rows {
            let sha256 = self.store.blobs().put(&file.bytes).map_err(store_fault)?;
            let subject = first_revision(part);
            let id = Derived::new("photo").bytes(&sha256).id(Some(subject)).finish();
            ids.push(id);
            made.push(Photo {
                id,
                sha256: Some(sha256.to_vec()),
                subject: Some(subject),
                role,
                file_name: Some(name.to_owned()),
                size_bytes: i64::try_from(file.bytes.len()).ok(),
                ..Photo::default()
            });
        }
        self.store.write("add photos", |w| {
            for photo in &made {
                w.create(photo)?;
            }
            Ok::<(), Fault>(())
        })?;
        let photos = self.photos(None)?.into_iter().filter(|p| ids.contains(&p.id)).collect();
        Ok(AddedPhotos { photos, refused })
    }

    /// Lists photos, of one part or all.
    ///
    /// # Errors
    /// [`Fault`] if no part has that tag.
    pub fn photos(&self, tag: Option<&str>) -> Result<Vec<PhotoReport>, Fault> {
        let part = tag.map(|tag| self.find_row(Some(airshelf_catalog::EntityKind::Part), tag)).transpose()?;
        let records = self.store.records(Scope::Shelf).map_err(store_fault)?;
        let names = Names::of(&records);
        let mut used = std::collections::HashMap::new();
        let mut reports = Vec::new();
        for photo in &records.photos {
            let of = photo.subject.and_then(|s| names.part_of(s));
            if part.is_some() && of.map(|p| p.id) != part {
                continue;
            }
            let tag = of.and_then(|p| p.tag.clone());
            let sha256: [u8; 32] =
                photo.sha256.as_deref().and_then(|b| b.try_into().ok()).unwrap_or_default();
            let extension =
                photo.file_name.as_deref().and_then(|n| n.rsplit_once('.')).map_or("jpg", |(_, e)| e);
            let stem: String =
                [tag.as_deref().unwrap_or("photo"), photo.role.map_or("", PhotoRole::name)].join(" ");
            let stem = stem.trim().replace(['/', '\\', ':'], "-");
            let count = used.entry(stem.clone()).and_modify(|n| *n += 1).or_insert(1);
            let number = if *count > 1 { format!(" {count}") } else { String::new() };
            reports.push(PhotoReport {
                id: photo.id,
                tag,
                role: photo.role.map(PhotoRole::name),
                file_name: photo.file_name.clone(),
                sha256: sha256.iter().map(|b| format!("{b:02x}")).collect(),
                size_bytes: photo.size_bytes,
                state: match self.store.blob_state(&sha256).map_err(store_fault)? {
                    BlobState::Here => "here",
                    BlobState::Elsewhere => "elsewhere",
                    BlobState::Lost => "lost",
                },
                export_name: format!("{stem}{number}.{extension}"),
            });
        }
        Ok(reports)
    }

    /// A small picture of a photo, a JPEG: the one that is kept, or made now and kept. None where neither it nor the photo
    /// is here, or no picture can be made of it.
    ///
    /// # Errors
    /// [`Fault`] if the photo is damaged, or the disk says no.
    pub fn thumbnail(&self, sha256: &[u8; 32]) -> Result<Option<Vec<u8>>, Fault> {
        let blobs = self.store.blobs();
        if let Some(small) = blobs.thumbnail(sha256) {
            return Ok(Some(small));
        }
        let Some(bytes) = blobs.get(sha256).map_err(store_fault)? else { return Ok(None) };
        let Ok(small) = airshelf_photo::thumbnail(&bytes) else { return Ok(None) };
        if !self.is_read_only() {
            blobs.keep_thumbnail(sha256, &small).map_err(store_fault)?;
        }
        Ok(Some(small))
    }

    /// The stored bytes of a photo.
    ///
    /// # Errors
    /// [`Fault`] if it is not here, or damaged.
    pub fn photo_bytes(&self, id: Uuid) -> Result<Vec<u8>, Fault> {
        let photo: Photo = self
            .store
            .get(id)
            .map_err(store_fault)?
            .ok_or_else(|| Fault::new(Code::NotFound, "there is no such photo"))?;
        let sha256: [u8; 32] = photo.sha256.as_deref().and_then(|b| b.try_into().ok()).unwrap_or_default();
        self.store
            .blobs()
            .get(&sha256)
            .map_err(store_fault)?
            .ok_or_else(|| Fault::new(Code::NotFound, "this photo is not on this device"))
    }
}

fn role_named(text: &str) -> Result<PhotoRole, Fault> {
    PhotoRole::from_name(&fold(text)).ok_or_else(|| {
        let known: Vec<&str> = PhotoRole::ALL.iter().map(|r| r.name()).collect();
        Fault::new(Code::BadArgument, format!("{text} is not one of {}", known.join(", ")))
    })
}

/// The part whose tag a file's name begins with, the longest first, and the rest of the name.
fn named_after<'a>(name: &str, tags: impl Iterator<Item = (&'a str, Uuid)>) -> Option<(Uuid, String)> {
    let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
    let low = stem.to_lowercase();
    tags.filter(|(tag, _)| {
        let rest = low.strip_prefix(&tag.to_lowercase());
        rest.is_some_and(|rest| !rest.starts_with(char::is_alphanumeric))
    })
    .max_by_key(|(tag, _)| tag.len())
    .map(|(tag, part)| (part, stem[tag.len()..].replace(['_', '-'], " ")))
}

fn is_photo(bytes: &[u8]) -> bool {
    let starts = |magic: &[u8]| bytes.starts_with(magic);
    starts(b"\xff\xd8\xff")
        || starts(b"\x89PNG\r\n\x1a\n")
        || (starts(b"RIFF") && bytes.get(8..12) == Some(b"WEBP"))
        || bytes.get(4..8) == Some(b"ftyp")
        || starts(b"II*\0")
        || starts(b"MM\0*")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_belongs_to_the_longest_tag_it_begins_with() {
        let (a, b) = (Uuid::from_u128(1), Uuid::from_u128(2));
        let tags = || [("PF-1", a), ("PF-12", b)].into_iter();
        assert_eq!(named_after("PF-12 pleats.jpg", tags()), Some((b, " pleats".into())));
        assert_eq!(named_after("pf-1_2.jpg", tags()).map(|f| f.0), Some(a));
        assert_eq!(named_after("PF-13.jpg", tags()), None);
    }
}
