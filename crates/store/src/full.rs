//! What a full disk does, tried with SQLite's own limit on the number of pages.

use crate::error::StoreError;
use crate::import::Pace;
use crate::native::Native;
use crate::query::Scope;
use crate::shelf::Store;
use airshelf_catalog::model::Part;
use airshelf_catalog::{Records, Uuid};
use std::sync::Arc;

#[test]
fn a_full_disk_loses_nothing_and_trying_again_with_room_works() {
    let folder = tempfile::tempdir().unwrap();
    let host = Arc::new(Native::new(folder.path().join("config")));
    let mut store = Store::create(&folder.path().join("shelf"), host).unwrap();
    let before = Part { tag: Some("KEPT-1".into()), ..Part::default() };
    store.write("new", |w| w.create(&before)).unwrap_or_else(|e: StoreError| panic!("{e}"));
    let parts = (1..=5_000u128).map(|n| Part {
        id: Uuid::from_u128(n),
        note: Some(format!("part number {n}")),
        ..Part::default()
    });
    let records = Records { parts: parts.collect(), ..Records::default() };
    let pages: i64 = store.conn.query_row("PRAGMA page_count", [], |row| row.get(0)).unwrap();
    let limit = |store: &Store, pages: i64| {
        store.conn.query_row(&format!("PRAGMA max_page_count = {pages}"), [], |_| Ok(())).unwrap();
    };
    limit(&store, pages + 20);
    let full = store.import(&records, "import", &mut |_, _| Pace::GoOn).unwrap_err();
    assert!(matches!(full, StoreError::DiskFull), "{full}");
    assert!(full.trying_again_helps());
    assert_eq!(store.records(Scope::All).unwrap().len(), 1);
    assert!(store.check().unwrap().is_sound());
    limit(&store, 1 << 30);
    assert_eq!(store.import(&records, "import", &mut |_, _| Pace::GoOn).unwrap().total(), 5_000);
    assert!(store.check().unwrap().is_sound());
}
