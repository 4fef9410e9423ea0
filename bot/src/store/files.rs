//! Files that people sent, kept in the store's folder under the SHA-256 of their bytes.

use std::path::PathBuf;

use sha2::{Digest, Sha256};

use super::Store;
use super::error::{StoreError, disk as on_disk};

/// The folder of kept files in the store's folder.
pub const FILES: &str = "files";

impl Store {
    /// Keeps a file; gives its SHA-256, lower-case hexadecimal. The bytes are safe on disk when this returns. The same bytes
    /// are kept once.
    ///
    /// # Errors
    /// Those of the disk. A frame that names the file must not be written then.
    pub fn keep_file(&self, bytes: &[u8]) -> Result<String, StoreError> {
        let sha256: String = Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect();
        let path = self.file_path(&sha256);
        let failed = || on_disk("keep a file");
        if self.disk.exists(&path).map_err(failed())? {
            return Ok(sha256);
        }
        self.disk.create_folder(&self.folder.join(FILES)).map_err(failed())?;
        // Under another name first, so that a file that has its name is whole.
        let draft = self.folder.join(FILES).join(format!("{sha256}.part"));
        let mut file = self.disk.open(&draft).map_err(failed())?;
        file.truncate(0).map_err(failed())?;
        file.append(bytes).map_err(failed())?;
        file.sync_data().map_err(failed())?;
        self.disk.rename(&draft, &path).map_err(failed())?;
        Ok(sha256)
    }

    /// The bytes of a kept file; `None` where it is not there, or is not what was kept.
    ///
    /// # Errors
    /// Those of the disk.
    pub fn kept_file(&self, sha256: &str) -> Result<Option<Vec<u8>>, StoreError> {
        let path = self.file_path(sha256);
        let failed = || on_disk("read a kept file");
        if !sha256.chars().all(|digit| digit.is_ascii_hexdigit()) || !self.disk.exists(&path).map_err(failed())? {
            return Ok(None);
        }
        let file = self.disk.open(&path).map_err(failed())?;
        let size = usize::try_from(file.size().map_err(failed())?).unwrap_or(usize::MAX);
        let mut bytes = vec![0; size];
        let mut read = 0;
        while read < bytes.len() {
            match file.read_at(read as u64, &mut bytes[read..]).map_err(failed())? {
                0 => break,
                more => read += more,
            }
        }
        bytes.truncate(read);
        let found: String = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
        Ok((found == sha256).then_some(bytes))
    }

    fn file_path(&self, sha256: &str) -> PathBuf {
        self.folder.join(FILES).join(sha256)
    }
}
