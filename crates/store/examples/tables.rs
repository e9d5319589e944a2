//! Prints the tables of the catalog's entities, for a new migration after a field was added.

#[expect(clippy::print_stdout)]
fn main() {
    print!("{}", airshelf_store::ddl());
}
