//! airshelf-flow
