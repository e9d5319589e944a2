//! The schema on disk is the model, column for column.

/// After a field was added: run the example `tables`, and put the new columns into a new migration. Before the first
/// release, `migrations/0001_tables.sql` is that example's output.
#[test]
fn the_tables_are_the_catalogs_entities_written_out() {
    assert_eq!(include_str!("../migrations/0001_tables.sql"), airshelf_store::ddl());
}
