//! EULUMDAT files (".ldt").
use super::Read;
use super::error::{Fault, ReadError};
use super::frame::{Frame, Zero};

/// Reads an EULUMDAT file.
pub fn read_eulumdat(_bytes: &[u8], _frame: Option<Frame>, _zero: Option<Zero>) -> Result<Read, ReadError> {
    Err(ReadError::new(Fault::Format, "EULUMDAT files are not read yet"))
}
