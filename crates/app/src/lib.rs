//! airshelf-app
