//! airshelf-store
