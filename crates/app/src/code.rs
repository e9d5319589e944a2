//! What can go wrong, as small stable codes with a sentence and what to do.

/// A stable code, so that no script or screen matches on text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, ts_rs::TS)]
#[serde(rename_all = "kebab-case")]
pub enum Code {
    /// There is no such thing.
    NotFound,
    /// Several things fit.
    Ambiguous,
    /// A text could not be read as the quantity asked for.
    BadQuantity,
    /// An argument is missing or does not fit.
    BadArgument,
    /// A value is outside the range in which a formula holds.
    OutsideValidity,
    /// A file could not be read.
    UnreadableFile,
    /// A row of an old sheet cannot be taken as it was corrected.
    NotTaken,
    /// There is no shelf there.
    NoShelf,
    /// There is a shelf there already.
    ShelfExists,
    /// The shelf can be read but not written.
    ReadOnly,
    /// The shelf's file or folder does not allow reading.
    MayNotRead,
    /// The disk is full.
    DiskFull,
    /// The shelf is damaged.
    Damaged,
    /// The other device holds another shelf.
    OtherShelf,
    /// The other device does not answer, or not as it should.
    Unreachable,
    /// The hub does not know this device, or no longer.
    Unpaired,
    /// Anything else that the store reports.
    Store,
    /// The user stopped it.
    Stopped,
}

/// A fault of a request: nothing was changed.
#[derive(Clone, Debug, thiserror::Error, serde::Serialize, ts_rs::TS)]
#[error("{message}")]
pub struct Fault {
    /// The code.
    pub code: Code,
    /// What happened and what was kept.
    pub message: String,
    /// What to do.
    pub hint: Option<String>,
}

impl Fault {
    /// A fault with a code and a sentence.
    pub fn new(code: Code, message: impl Into<String>) -> Self {
        Fault { code, message: message.into(), hint: None }
    }

    /// Adds what to do.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}
