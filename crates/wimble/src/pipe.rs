//! Room in a pipe.

use std::io::Stdout;

/// As much as a pipe may hold without a privilege, bytes.
#[cfg(target_os = "linux")]
const ROOM: usize = 1 << 20;

/// Gives a pipe room, if output goes down one: who reads it and who writes it then wait for each
/// other a sixteenth as often, which is a twentieth of the time where a report is a gigabyte.
pub(crate) fn widen(out: &Stdout) {
    // What is no pipe, or may not be wider, stays as it is.
    #[cfg(target_os = "linux")]
    let _ = rustix::pipe::fcntl_setpipe_size(out, ROOM);
    #[cfg(not(target_os = "linux"))]
    let _ = out;
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::*;

    #[test]
    fn a_pipe_may_be_made_so_wide() {
        let (read, _write) = rustix::pipe::pipe().unwrap();
        rustix::pipe::fcntl_setpipe_size(&read, ROOM).unwrap();
        assert!(rustix::pipe::fcntl_getpipe_size(&read).unwrap() >= ROOM);
    }
}
