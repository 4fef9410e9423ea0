//! Maps and sets of words. Each word of a message is looked up in a dozen of them, which is most of what reading costs.

use std::collections::{HashMap, HashSet};
use std::hash::{BuildHasherDefault, Hasher};

/// Words to what is known of them.
pub(crate) type WordMap<V> = HashMap<String, V, BuildHasherDefault<WordHasher>>;
/// Words.
pub(crate) type WordSet = HashSet<String, BuildHasherDefault<WordHasher>>;

/// FNV-1a with 64 bits (RFC 9923): quick for short keys. Its keys are words of the lexicon and names of the house, never those
/// of a message, so that nobody can choose them to collide.
#[derive(Debug, Clone, Copy)]
pub(crate) struct WordHasher(u64);

impl Default for WordHasher {
    fn default() -> Self {
        WordHasher(0xcbf2_9ce4_8422_2325)
    }
}

impl Hasher for WordHasher {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = (self.0 ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The vectors for "", "a" and "foobar" that the RFC gives.
    #[test]
    fn words_hash_as_the_published_vectors_say() {
        let hash = |text: &str| {
            let mut hasher = WordHasher::default();
            hasher.write(text.as_bytes());
            hasher.finish()
        };
        assert_eq!(hash(""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(hash("a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(hash("foobar"), 0x8594_4171_f739_67e8);
    }
}
