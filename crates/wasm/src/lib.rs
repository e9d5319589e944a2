//! The app in a browser: a worker holds the shelf in the origin's private file system and answers requests.
//!
//! Architecture invariants: nothing is decided here; requests go to the app's desk and come back as they are. Only one
//! worker of an origin holds the store at a time: the page makes sure of that before it starts one.

#![cfg(target_family = "wasm")]

mod core;
