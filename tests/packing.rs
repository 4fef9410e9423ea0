//! Packing lists, from the outside: the samples and their gold, then the contract section by section.

#[path = "packing/samples.rs"]
mod samples;
