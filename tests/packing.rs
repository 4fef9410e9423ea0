//! Packing lists, from the outside: the samples and their gold, then the contract section by section, then laws.

#[path = "packing/contract.rs"]
mod contract;
#[path = "packing/doubts.rs"]
mod doubts;
#[path = "packing/fuzz.rs"]
mod fuzz;
#[path = "packing/hostile.rs"]
mod hostile;
#[path = "packing/kinds.rs"]
mod kinds;
#[path = "packing/kit.rs"]
mod kit;
#[path = "packing/laws.rs"]
mod laws;
#[path = "packing/older.rs"]
mod older;
#[path = "packing/samples.rs"]
mod samples;
#[path = "packing/workbooks.rs"]
mod workbooks;
