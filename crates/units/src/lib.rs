//! airshelf-units
