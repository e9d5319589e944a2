//! Photos of parts, assemblies and evenings: what is stored carries no place and no serial number.

use crate::code::{Code, Fault};
use crate::entry::Changed;
use crate::shelf::{Shelf, store_fault};
use airshelf_catalog::ids::Derived;
use airshelf_catalog::{Photo, PhotoRole, Uuid, Value};
use airshelf_photo::cleaned;
use airshelf_store::BlobState;
use airshelf_store::blobs::{hex, parse};
use serde::Serialize;
use ts_rs::TS;

/// A photo in a gallery.
#[derive(Clone, Debug, Serialize, TS)]
pub struct PhotoShown {
    /// Its id.
    pub id: Uuid,
    /// The hash of what is stored; asks for the picture.
    pub sha256: String,
    /// What it shows.
    pub role: Option<PhotoRole>,
    /// What it belongs to.
    pub subject: Option<Uuid>,
    /// When it was taken, as the camera wrote it.
    pub taken: Option<String>,
    /// The file's name when it came in.
    pub file_name: Option<String>,
    /// Anything else.
    pub note: Option<String>,
    /// Where its bytes are: `here`, `elsewhere` or `lost`.
    pub state: &'static str,
}

/// Photos that were kept, and files that were not.
#[derive(Clone, Debug, Serialize, TS)]
pub struct PhotosKept {
    /// The write; none where nothing was kept.
    pub changed: Option<Changed>,
    /// How many were kept.
    pub kept: usize,
    /// Why the others were not, each in a sentence.
    pub refused: Vec<String>,
}

pub(super) fn of_subjects(shelf: &Shelf, subjects: &[Uuid]) -> Result<Vec<PhotoShown>, Fault> {
    let mut photos = Vec::new();
    for subject in subjects {
        for photo in shelf.store().find_by::<Photo>("subject", &Value::Id(*subject))? {
            let Some(hash) = photo.sha256.as_deref().and_then(|b| <[u8; 32]>::try_from(b).ok()) else {
                continue;
            };
            photos.push(PhotoShown {
                id: photo.id,
                sha256: hex(&hash),
                role: photo.role,
                subject: photo.subject,
                taken: photo.taken,
                file_name: photo.file_name,
                note: photo.note,
                state: match shelf.store().blob_state(&hash)? {
                    BlobState::Here => "here",
                    BlobState::Elsewhere => "elsewhere",
                    BlobState::Lost => "lost",
                },
            });
        }
    }
    photos.sort_by(|a, b| (&a.taken, a.id).cmp(&(&b.taken, b.id)));
    Ok(photos)
}

/// Keeps photos. What cannot be freed of its metadata without recompressing is refused, and the others are kept.
pub(super) fn add(
    shelf: &mut Shelf,
    subject: Uuid,
    role: Option<PhotoRole>,
    names: &[String],
    attached: Vec<Vec<u8>>,
) -> Result<PhotosKept, Fault> {
    if names.len() != attached.len() {
        let what = format!("{} names for {} photos", names.len(), attached.len());
        return Err(Fault::new(Code::BadArgument, what));
    }
    let (mut rows, mut refused) = (Vec::new(), Vec::new());
    for (name, bytes) in names.iter().zip(&attached) {
        let clean = match cleaned(bytes) {
            Ok(clean) => clean,
            Err(why) => {
                refused.push(format!("{name} was not kept: {why}."));
                continue;
            }
        };
        let sha256 = shelf.store.blobs().put(&clean.bytes).map_err(store_fault)?;
        rows.push(Photo {
            id: Derived::new("photo").bytes(&sha256).id(Some(subject)).finish(),
            sha256: Some(sha256.to_vec()),
            subject: Some(subject),
            role,
            orientation: clean.orientation.map(i64::from),
            taken: clean.taken,
            file_name: Some(name.clone()),
            size_bytes: i64::try_from(clean.bytes.len()).ok(),
            ..Photo::default()
        });
    }
    if rows.is_empty() {
        return Ok(PhotosKept { changed: None, kept: 0, refused });
    }
    let label = if rows.len() == 1 { "add photo".to_owned() } else { format!("add {} photos", rows.len()) };
    let outcome = shelf.store.write(&label, |w| {
        for photo in &rows {
            w.create(photo)?;
        }
        Ok::<Uuid, Fault>(subject)
    })?;
    Ok(PhotosKept { changed: Some(Changed::of(outcome)), kept: rows.len(), refused })
}

/// Takes a photo from its subject; its bytes stay as long as anything may need them.
pub(super) fn remove(shelf: &mut Shelf, id: Uuid) -> Result<Changed, Fault> {
    let outcome = shelf.store.write("remove photo", |w| {
        w.delete::<Photo>(id)?;
        Ok::<Uuid, Fault>(id)
    })?;
    Ok(Changed::of(outcome))
}

/// The bytes of a photo, or of its small picture.
pub(super) fn bytes(shelf: &Shelf, sha256: &str, small: bool) -> Result<Option<Vec<u8>>, Fault> {
    let hash = parse(sha256).ok_or_else(|| Fault::new(Code::BadArgument, "this is no photo's hash"))?;
    match small {
        true => shelf.thumbnail(&hash),
        false => Ok(shelf.store().blobs().get(&hash).map_err(store_fault)?),
    }
}
