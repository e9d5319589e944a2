//! airshelf-catalog
