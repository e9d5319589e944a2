//! The schema on disk is the model, column for column.
#![allow(clippy::unwrap_used)]

use airshelf_store::{Store, native::Native};
use rusqlite::Connection;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The columns of every table that the catalog writes out, with their types.
fn columns(conn: &Connection, tables: &[String]) -> BTreeMap<String, Vec<(String, String)>> {
    let of = |table: &String| {
        let mut asked = conn.prepare("SELECT name, type FROM pragma_table_info(?1) ORDER BY cid").unwrap();
        let rows = asked.query_map([table], |row| Ok((row.get(0)?, row.get(1)?))).unwrap();
        (table.clone(), rows.map(Result::unwrap).collect())
    };
    tables.iter().map(of).collect()
}

/// After a field was added: the example `tables` prints its column, which goes into a new migration.
#[test]
fn the_tables_are_the_catalogs_entities_written_out() {
    let model = Connection::open_in_memory().unwrap();
    model.execute_batch(&airshelf_store::ddl()).unwrap();
    let mut asked =
        model.prepare("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name").unwrap();
    let tables: Vec<String> = asked.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect();
    assert!(tables.len() > 20, "{tables:?}");
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("shelf");
    drop(Store::create(&dir, Arc::new(Native::new(folder.path().join("config")))).unwrap());
    let held = std::fs::read_dir(&dir).unwrap().map(|entry| entry.unwrap().path());
    let file = held.filter(|path| path.is_file()).max_by_key(|path| path.metadata().unwrap().len()).unwrap();
    let made = Connection::open(file).unwrap();
    assert_eq!(columns(&made, &tables), columns(&model, &tables));
}
