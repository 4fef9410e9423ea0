//! How much of a file is read. A packing list of three hundred boxes stays far below every one of these.

/// Largest file, bytes.
pub const FILE_BYTES: u64 = 20 << 20;
/// Most bytes unpacked from the parts of one workbook; a "zip bomb" stops here.
pub const UNPACKED_BYTES: u64 = 64 << 20;
/// Most filled cells in one file.
pub const CELLS: usize = 400_000;
/// Most sheets in one file.
pub const SHEETS: usize = 100;
/// Most merged ranges kept of one sheet.
pub const MERGES: usize = 20_000;
/// Characters kept of one cell; names end at 200, so nothing that counts is lost.
pub const CELL_CHARACTERS: usize = 2_000;
/// Boxes one label may name.
pub const BOXES_OF_A_LABEL: u32 = 500;
/// Most lines given out.
pub const LINES: usize = 50_000;
/// Most sets of headings, unlike the ones before them, within a sheet.
pub const HEADINGS: usize = 2_000;
/// Most boxes named, each label counted anew.
pub const BOXES_NAMED: usize = 1_000_000;
/// Most totals and subtotals kept.
pub const TOTALS: usize = 10_000;
/// Rows in which the headings must appear.
pub const HEADING_ROWS: u32 = 30;
/// Longest species name, characters.
pub const NAME_CHARACTERS: usize = 200;
/// Largest readable quantity.
pub const QUANTITY: u64 = 1_000_000;
/// Fish on one line beyond which a question is asked.
pub const FISH_OF_A_LINE: u64 = 3_000;
/// Most questions of one kind given out one by one.
pub const QUESTIONS: usize = 200;
