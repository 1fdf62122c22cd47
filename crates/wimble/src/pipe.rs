//! Room in a pipe.

/// Gives a pipe room, if output goes down one: who reads it and who writes it then wait for each
/// other less often. What is no pipe, or may not be wider, stays as it is.
#[cfg(target_os = "linux")]
pub(crate) fn widen(out: &impl std::os::fd::AsFd) {
    /// As much as a pipe may usually hold without a privilege, bytes.
    const ROOM: usize = 1 << 20;
    let _ = rustix::pipe::fcntl_setpipe_size(out, ROOM);
}

/// Other systems do not say how wide a pipe is.
#[cfg(not(target_os = "linux"))]
pub(crate) fn widen<T>(_: &T) {}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::*;
    use rustix::pipe::fcntl_getpipe_size;

    #[test]
    fn a_pipe_is_made_wider_and_a_file_left_as_it_is() {
        let (_read, write) = rustix::pipe::pipe().unwrap();
        let before = fcntl_getpipe_size(&write).unwrap();
        widen(&write);
        assert!(fcntl_getpipe_size(&write).unwrap() > before);
        widen(&tempfile::tempfile().unwrap());
    }
}
