//! airshelf-stats
