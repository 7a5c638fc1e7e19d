//! Sweeps over the API document: every request that it names is tried in every bad way, so that
//! an endpoint is covered on the day it appears. Whoever adds one says in `scene.rs` what a good
//! request to it looks like and whose it is; a test says so when it is missing.

mod bodies;
mod document;
mod heads;
mod lists;
mod names;
mod scene;
mod schemathesis;
mod versions;
mod who_may;
