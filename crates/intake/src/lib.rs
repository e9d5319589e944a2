//! airshelf-intake
