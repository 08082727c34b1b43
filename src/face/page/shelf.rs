//! The calibrations that answers can stand on: the invented one, those named at the start, and
//! those that were fitted or handed over since. In memory only; what is handed over last pushes out
//! what was handed over first.

use crate::face::demo_bench::{demo_calibration, demo_table};
use crate::fit::Calibration;
use sha2::{Digest, Sha256};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Code of the invented calibration in addresses.
pub(super) const DEMO_CODE: &str = "demo";
/// How many handed-over calibrations are kept.
const KEPT: usize = 48;
/// How many bytes the documents of handed-over calibrations have in all; the newest is kept whatever it
/// has.
const KEPT_BYTES: usize = 64 * 1024 * 1024;
/// Letters of a code: enough that two documents do not meet.
const CODE_LETTERS: usize = 12;

/// A calibration on the shelf.
#[derive(Debug)]
pub(super) struct Shelved {
    /// Its code in addresses: the head of its document's SHA-256, so that a kept address finds the
    /// same calibration again whoever hands it over; 'demo' for the invented one.
    pub(super) code: String,
    /// Its name for people: a file's name, never a path.
    pub(super) name: String,
    /// The calibration.
    pub(super) calibration: Calibration,
    /// Its document, as it is saved.
    pub(super) document: String,
    /// SHA-256 of the document.
    pub(super) sha256: String,
}

/// The calibrations.
#[derive(Debug)]
pub struct Shelf {
    /// There as long as the page runs: the invented one first.
    standing: Vec<Arc<Shelved>>,
    handed_over: Mutex<VecDeque<Arc<Shelved>>>,
}

impl Shelf {
    /// A shelf with the invented calibration and these: name and document of each.
    ///
    /// # Errors
    /// In words: a document that is no calibration.
    pub fn new(named: &[(String, String)], seed: u64) -> Result<Self, crate::face::cli::CliError> {
        let demo = demo_calibration(&demo_table()?, seed)?;
        let mut standing = vec![shelved(
            Some(DEMO_CODE),
            "invented demo bench".to_owned(),
            demo.to_json()?,
            demo,
        )];
        for (name, document) in named {
            let calibration = Calibration::from_json(name, document)?;
            standing.push(shelved(None, name.clone(), document.clone(), calibration));
        }
        Ok(Self {
            standing,
            handed_over: Mutex::default(),
        })
    }

    /// The calibration with that code.
    pub(super) fn find(&self, code: &str) -> Option<Arc<Shelved>> {
        self.all().into_iter().find(|shelved| shelved.code == code)
    }

    /// The one that answers stand on where an address names none: the first that was named at the
    /// start, else the invented one.
    pub(super) fn first(&self) -> Option<Arc<Shelved>> {
        self.standing.get(1).or(self.standing.first()).cloned()
    }

    /// Every calibration: the invented one, those of the start, the newest last.
    pub(super) fn all(&self) -> Vec<Arc<Shelved>> {
        let mut all = self.standing.clone();
        all.extend(self.handed_over().iter().cloned());
        all
    }

    /// Puts a calibration on the shelf and says where it stands.
    pub(super) fn put(
        &self,
        name: &str,
        calibration: Calibration,
        document: String,
    ) -> Arc<Shelved> {
        let new = shelved(None, plain_name(name), document, calibration);
        if let Some(there) = self.find(&new.code) {
            return there;
        }
        let mut handed_over = self.handed_over();
        handed_over.push_back(Arc::clone(&new));
        let mut bytes: usize = handed_over.iter().map(|one| one.document.len()).sum();
        while handed_over.len() > KEPT || (handed_over.len() > 1 && bytes > KEPT_BYTES) {
            match handed_over.pop_front() {
                Some(oldest) => bytes -= oldest.document.len(),
                None => break,
            }
        }
        new
    }

    fn handed_over(&self) -> MutexGuard<'_, VecDeque<Arc<Shelved>>> {
        // A list of pointers is whole whatever happened to the thread that held it.
        self.handed_over
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
    }
}

fn shelved(
    code: Option<&str>,
    name: String,
    document: String,
    calibration: Calibration,
) -> Arc<Shelved> {
    let sha256 = crate::readings::table::hexadecimal(&Sha256::digest(document.as_bytes()));
    Arc::new(Shelved {
        code: code.map_or_else(
            || sha256.chars().take(CODE_LETTERS).collect(),
            str::to_owned,
        ),
        name,
        calibration,
        document,
        sha256,
    })
}

/// A file's name without folders and without letters that do not print, 60 letters at most.
pub(super) fn plain_name(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let name: String = last
        .chars()
        .filter(|letter| !letter.is_control())
        .take(60)
        .collect();
    if name.trim().is_empty() {
        "calibration.json".to_owned()
    } else {
        name
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn what_is_handed_over_stays_under_its_bounds() {
        let shelf = Shelf::new(&[], 1).unwrap();
        let calibration = shelf.first().unwrap().calibration.clone();
        let put = |letter: char, bytes: usize| {
            let document = letter.to_string().repeat(bytes);
            shelf.put("c.json", calibration.clone(), document)
        };
        let bytes = || {
            let handed_over = shelf.handed_over();
            let of_documents: usize = handed_over.iter().map(|one| one.document.len()).sum();
            (handed_over.len(), of_documents)
        };
        for letter in 'a'..='z' {
            put(letter, 8 * 1024 * 1024);
            assert!(bytes().1 <= KEPT_BYTES);
        }
        assert_eq!(bytes().0, 8);
        let large = put('A', KEPT_BYTES + 1);
        assert_eq!(bytes(), (1, KEPT_BYTES + 1));
        assert!(shelf.find(&large.code).is_some() && shelf.find(DEMO_CODE).is_some());
        for count in 1..=60 {
            put('b', count);
        }
        assert_eq!(bytes().0, KEPT);
    }
}
