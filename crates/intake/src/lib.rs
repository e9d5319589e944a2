//! airshelf-intake

pub mod reader;
