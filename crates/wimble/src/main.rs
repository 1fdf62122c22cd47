//! Checks the cuts that services make in timber members of IFC models.

use std::process::ExitCode;

// Much is allocated side by side; the system allocator takes a tenth longer and more memory.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// The allocator's option of how long it keeps memory that is free before it gives it back, and for
/// how long, milliseconds. Its own second is half a check: what one stage leaves behind would
/// stand beside what the next one takes. To give it back at once takes longer where lists grow.
const PURGE_DELAY: (libmimalloc_sys::mi_option_t, std::ffi::c_long) = (15, 10);

fn main() -> ExitCode {
    #[expect(unsafe_code, reason = "sets a number in the allocator before any thread is started")]
    // SAFETY: an option of the allocator that is linked, by the number that its header gives it.
    unsafe {
        libmimalloc_sys::mi_option_set_default(PURGE_DELAY.0, PURGE_DELAY.1);
    }
    small_pages();
    wimble::run(std::env::args_os())
}

/// Memory comes in pages of 4 kB. The allocator asks for those of 2 MB, which are cleared whole
/// where a corner is used: a small model would take twice the memory, and longer to clear it than
/// to check it.
fn small_pages() {
    // Where it cannot be asked, nothing but that is lost.
    #[cfg(target_os = "linux")]
    let _ = rustix::thread::disable_transparent_huge_pages(true);
}
