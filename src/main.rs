//! Parse, one library call, exit status.

mod cli;

fn main() -> std::process::ExitCode {
    share_heaps();
    cli::main()
}

/// Has all threads share two heaps. With one each, as glibc gives them, what one thread freed no other could use: fifty MB
/// more for a clip of 1080p, and no quicker.
#[cfg(all(target_os = "linux", target_env = "gnu"))]
fn share_heaps() {
    // SAFETY: no other thread runs yet; the call sets a number.
    unsafe { libc::mallopt(libc::M_ARENA_MAX, 2) };
}

#[cfg(not(all(target_os = "linux", target_env = "gnu")))]
fn share_heaps() {}
