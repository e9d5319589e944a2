//! What refers to a row is known before the row is deleted.

#![allow(clippy::unwrap_used)]

mod bench;

use airshelf_catalog::ids::unpack_layers;
use airshelf_catalog::model::{Assembly, Listing, Part, Photo};
use airshelf_catalog::{EntityKind, Uuid};
use airshelf_store::native::Native;
use airshelf_store::{Pace, Store, StoreError};
use std::sync::Arc;

fn write<T>(
    store: &mut Store,
    work: impl FnOnce(&mut airshelf_store::Writer<'_>) -> Result<T, StoreError>,
) -> T {
    store.write("a write", work).unwrap().value
}

#[test]
fn a_row_in_use_says_by_what() {
    let folder = tempfile::tempdir().unwrap();
    let host = Arc::new(Native::new(folder.path().join("config")));
    let mut store = Store::create(&folder.path().join("shelf"), host).unwrap();
    let part = write(&mut store, |w| w.create(&Part::default()));
    assert_eq!(store.references(part, 9).unwrap(), []);
    assert_eq!(store.references(Uuid::from_u128(7), 9).unwrap(), []);
    let photo = write(&mut store, |w| w.create(&Photo { subject: Some(part), ..Photo::default() }));
    let listing = write(&mut store, |w| w.create(&Listing { part: Some(part), ..Listing::default() }));
    let both = [(EntityKind::Photo, photo), (EntityKind::Listing, listing)];
    assert_eq!(store.references(part, 9).unwrap(), both);
    assert_eq!(store.references(part, 1).unwrap(), both[..1]);
    write(&mut store, |w| w.delete::<Photo>(photo));
    assert_eq!(store.references(part, 9).unwrap(), both[1..], "what was deleted does not count");
}

#[test]
fn a_revision_is_in_use_by_the_assemblies_that_have_it_as_a_layer() {
    let folder = tempfile::tempdir().unwrap();
    let host = Arc::new(Native::new(folder.path().join("config")));
    let mut store = Store::create(&folder.path().join("shelf"), host).unwrap();
    let records = bench::evenings(100);
    store.import(&records, "import", &mut |_, _| Pace::GoOn).unwrap();
    let layers_of =
        |assembly: &Assembly| assembly.layers.as_deref().and_then(unpack_layers).unwrap_or_default();
    let assembly = records.assemblies.iter().find(|a| !layers_of(a).is_empty()).unwrap();
    let revision = layers_of(assembly)[0].revision;
    let found = store.references(revision, 1_000).unwrap();
    assert!(found.contains(&(EntityKind::Assembly, assembly.id)), "{found:?}");
    let runs = records.runs.iter().filter(|run| run.assembly == Some(assembly.id)).count();
    assert_eq!(store.references(assembly.id, 1_000).unwrap().len(), runs);
    let part = records.revisions.iter().find(|r| r.id == revision).unwrap().part.unwrap();
    assert!(store.references(part, 1_000).unwrap().contains(&(EntityKind::Revision, revision)));
}
