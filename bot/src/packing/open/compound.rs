//! The compound file that wraps old workbooks (MS-CFB): one stream by name. All sizes and chains are taken as claims.

use super::Unreadable;

/// The first eight bytes of a compound file.
pub const MAGIC: [u8; 8] = [0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1];

const DAMAGED: Unreadable = Unreadable::Damaged("xls");
const END: u32 = 0xffff_fff0;
const SMALL_SECTOR: usize = 64;

/// A compound file with its tables read.
pub struct Compound<'bytes> {
    bytes: &'bytes [u8],
    sector: usize,
    chain: Vec<u32>,
    small_chain: Vec<u32>,
    small: Vec<u8>,
    small_limit: usize,
    entries: Vec<Entry>,
}

struct Entry {
    name: String,
    start: u32,
    size: usize,
}

impl<'bytes> Compound<'bytes> {
    /// Reads the tables.
    pub fn new(bytes: &'bytes [u8]) -> Result<Self, Unreadable> {
        let shift = u16_at(bytes, 30).ok_or(DAMAGED)?;
        if !(7..=16).contains(&shift) {
            return Err(DAMAGED);
        }
        let sector = 1_usize << shift;
        let mut file = Self {
            bytes,
            sector,
            chain: Vec::new(),
            small_chain: Vec::new(),
            small: Vec::new(),
            small_limit: u32_at(bytes, 56).ok_or(DAMAGED)? as usize,
            entries: Vec::new(),
        };
        let mut tables: Vec<u32> =
            (0..109).filter_map(|index| u32_at(bytes, 76 + 4 * index)).filter(|&id| id < END).collect();
        let mut next = u32_at(bytes, 68).ok_or(DAMAGED)?;
        let sectors = bytes.len() / sector + 1;
        for _ in 0..sectors {
            let Some(block) = file.sector(next).filter(|block| block.len() == sector) else { break };
            tables.extend(numbers(&block[..sector - 4]).filter(|&id| id < END));
            next = u32_at(block, sector - 4).ok_or(DAMAGED)?;
        }
        for &id in tables.iter().take(sectors) {
            if let Some(block) = file.sector(id) {
                let numbers: Vec<u32> = numbers(block).collect();
                file.chain.extend(numbers);
            }
        }
        let directory = file.follow(u32_at(bytes, 48).ok_or(DAMAGED)?, usize::MAX);
        for record in directory.chunks_exact(128) {
            let length = (usize::from(u16_at(record, 64).unwrap_or(0)).saturating_sub(2)).min(62) / 2;
            let units: Vec<u16> = (0..length).filter_map(|index| u16_at(record, 2 * index)).collect();
            file.entries.push(Entry {
                name: String::from_utf16_lossy(&units),
                start: u32_at(record, 116).unwrap_or(END),
                size: u32_at(record, 120).unwrap_or(0) as usize,
            });
        }
        let small_table = file.follow(u32_at(bytes, 60).ok_or(DAMAGED)?, usize::MAX);
        file.small_chain = numbers(&small_table).collect();
        let root = file.entries.first().ok_or(DAMAGED)?;
        file.small = file.follow(root.start, root.size);
        Ok(file)
    }

    /// Whether a stream of that name is there.
    pub fn has(&self, name: &str) -> bool {
        self.entries.iter().any(|entry| entry.name.eq_ignore_ascii_case(name))
    }

    /// A stream by name.
    pub fn stream(&self, name: &str) -> Option<Vec<u8>> {
        let entry = self.entries.iter().find(|entry| entry.name.eq_ignore_ascii_case(name))?;
        if entry.size >= self.small_limit {
            return Some(self.follow(entry.start, entry.size));
        }
        let mut out = Vec::new();
        let mut id = entry.start;
        for _ in 0..=self.small_chain.len() {
            let from = id as usize * SMALL_SECTOR;
            let Some(block) = self.small.get(from..self.small.len().min(from + SMALL_SECTOR)) else { break };
            out.extend_from_slice(block);
            if out.len() >= entry.size {
                break;
            }
            match self.small_chain.get(id as usize) {
                Some(&next) if next < END => id = next,
                _ => break,
            }
        }
        out.truncate(entry.size);
        Some(out)
    }

    /// The sectors of a chain, one after the other; a chain that runs in a circle ends after one round.
    fn follow(&self, start: u32, size: usize) -> Vec<u8> {
        let mut out = Vec::new();
        let mut id = start;
        for _ in 0..=self.chain.len() {
            let Some(block) = self.sector(id) else { break };
            out.extend_from_slice(block);
            if out.len() >= size {
                out.truncate(size);
                break;
            }
            match self.chain.get(id as usize) {
                Some(&next) if next < END => id = next,
                _ => break,
            }
        }
        out
    }

    fn sector(&self, id: u32) -> Option<&'bytes [u8]> {
        if id >= END {
            return None;
        }
        let from = (id as usize + 1).checked_mul(self.sector)?;
        // A last sector may be cut short by careless writers.
        self.bytes.get(from..self.bytes.len().min(from.checked_add(self.sector)?))
    }
}

/// Little-endian numbers of two and four bytes.
pub fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_le_bytes(bytes.get(at..at + 2)?.try_into().ok()?))
}

/// A little-endian number of four bytes.
pub fn u32_at(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_le_bytes(bytes.get(at..at + 4)?.try_into().ok()?))
}

fn numbers(bytes: &[u8]) -> impl Iterator<Item = u32> + '_ {
    bytes.chunks_exact(4).map(|chunk| u32::from_le_bytes([chunk[0], chunk[1], chunk[2], chunk[3]]))
}
