//! Ordered trees of bytes for looking things up: what is asked of them, and what changes them.

/// The trees. What each holds is written in the module `index`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Tree {
    /// The last snapshot of the state.
    State,
    /// Lines of the journal since that snapshot.
    Tail,
    /// Frame → offset of its line in the journal.
    Frames,
    /// Platform key of an input → its frame.
    Seen,
    /// Platform's message id and outgoing message → the places it spoke of.
    Sent,
    /// Outgoing message → the platform's id of it.
    Told,
    /// Outgoing messages that are not delivered.
    Outbox,
    /// Looks that are due, by time.
    Due,
    /// How far the journal is applied.
    Meta,
}

impl Tree {
    /// Every tree.
    pub const ALL: [Tree; 9] = [
        Tree::State,
        Tree::Tail,
        Tree::Frames,
        Tree::Seen,
        Tree::Sent,
        Tree::Told,
        Tree::Outbox,
        Tree::Due,
        Tree::Meta,
    ];

    /// Its name on disk.
    pub fn name(self) -> &'static str {
        match self {
            Tree::State => "state",
            Tree::Tail => "tail",
            Tree::Frames => "frames",
            Tree::Seen => "seen",
            Tree::Sent => "sent",
            Tree::Told => "told",
            Tree::Outbox => "outbox",
            Tree::Due => "due",
            Tree::Meta => "meta",
        }
    }
}

/// One change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// Sets a key.
    Put(Tree, Vec<u8>, Vec<u8>),
    /// Removes a key.
    Delete(Tree, Vec<u8>),
    /// Removes all keys.
    Clear(Tree),
}

/// Changes that are made together or not at all, in their order.
pub type Batch = Vec<Change>;

/// A key and its value.
pub type Pair = (Vec<u8>, Vec<u8>);

/// Ordered trees of bytes.
pub trait Trees: Send {
    /// The value of a key.
    ///
    /// # Errors
    /// Where the trees are broken, as for all calls here.
    fn get(&self, tree: Tree, key: &[u8]) -> Result<Option<Vec<u8>>, TreesError>;

    /// All keys that begin with a prefix, in order, with their values.
    ///
    /// # Errors
    /// Where the trees are broken.
    fn scan(&self, tree: Tree, prefix: &[u8]) -> Result<Vec<Pair>, TreesError>;

    /// The number of keys in a tree.
    ///
    /// # Errors
    /// Where the trees are broken.
    fn count(&self, tree: Tree) -> Result<u64, TreesError>;

    /// Makes all changes of a batch, or none.
    ///
    /// # Errors
    /// Where the trees are broken.
    fn apply(&mut self, batch: Batch) -> Result<(), TreesError>;

    /// Hands what was applied to the operating system, so that it outlives this process.
    ///
    /// # Errors
    /// Where the trees are broken.
    fn flush(&mut self) -> Result<(), TreesError>;
}

/// Why trees cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TreesError {
    /// Another process has them open.
    #[error("the look-up trees are open in another process")]
    InUse,
    /// They are damaged, or could not be written.
    #[error("the look-up trees are broken: {0}")]
    Broken(String),
}
