//! Collecting mistakes while reading goes on, so that one run shows all of them and a broken file of any size is
//! still answered at once.

use std::cell::{Cell, RefCell};

use super::{Diagnostic, Severity};

/// No person reads further; the rest is counted. Comparing names for suggestions is slow, and ends here too.
const MOST_KEPT: usize = 100;

/// Collects diagnostics while reading goes on.
#[derive(Default, Debug)]
pub struct Log {
    kept: RefCell<Vec<Diagnostic>>,
    errors: Cell<usize>,
    warnings: Cell<usize>,
}

impl Log {
    /// Keeps one; past a hundred errors (or warnings) it is only counted.
    pub fn push(&self, diagnostic: Diagnostic) {
        let counter = match diagnostic.severity {
            Severity::Error => &self.errors,
            Severity::Warning => &self.warnings,
        };
        counter.set(counter.get() + 1);
        if counter.get() <= MOST_KEPT {
            self.kept.borrow_mut().push(diagnostic);
        }
    }

    /// Keeps one about an unknown `name`, with the nearest of `known` as a suggestion.
    pub fn suggest<'a>(&self, diagnostic: Diagnostic, name: &str, known: impl IntoIterator<Item = &'a str>) {
        if self.errors.get().max(self.warnings.get()) < MOST_KEPT {
            self.push(diagnostic.nearest(name, known));
        } else {
            self.push(diagnostic);
        }
    }

    /// Whether anything was an error.
    pub fn has_errors(&self) -> bool {
        self.errors.get() > 0
    }

    /// How many errors there were, those included that are only counted.
    pub fn errors(&self) -> usize {
        self.errors.get()
    }

    /// What was kept, in the order found, and how many more there were; the log is empty afterwards.
    pub fn take(&self) -> Vec<Diagnostic> {
        let mut all = std::mem::take(&mut *self.kept.borrow_mut());
        let more = (self.errors.take() + self.warnings.take()).saturating_sub(all.len());
        if more > 0 {
            let message = format!("{more} more mistakes or remarks like these are not shown");
            all.push(Diagnostic::warning("too-many", message).help("mend these first and check again"));
        }
        all
    }
}
