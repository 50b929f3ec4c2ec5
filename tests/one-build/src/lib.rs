//! Lets `cargo run` and `cargo test --workspace` share one build.
//!
//! Test libraries switch on features of crates that polars and arrow build on. Cargo leaves
//! dev-dependencies out of `cargo run`, and would build those crates, polars among them, once more
//! for the tests. This member of the workspace depends on the test libraries as others depend on
//! theirs. Cargo counts their features in whatever it builds of the default members, but builds
//! nothing that the command does not use. A build of the command alone (`-p cookstudy`,
//! `cargo install --path .`) goes without them.
