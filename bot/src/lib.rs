//! The shell of Holdfast: channels, store, clock and file readers around the pure core.

<<<<<<< HEAD
pub mod channel;
pub mod packing;
pub mod rehearse;
pub mod settings;
=======
pub mod read;
>>>>>>> reader
