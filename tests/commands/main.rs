//! The commands from outside: what they print and write, and what they say of what they cannot use.

#[cfg(feature = "video")]
mod clips;
#[cfg(feature = "video")]
mod demo;
mod plan;
#[cfg(unix)]
mod setup;
mod swim;

/// Status 2, one line that says what is wrong, and nothing else.
fn usage_fault(done: assert_cmd::assert::Assert, says: &str) {
    let done = done
        .code(2)
        .stdout("")
        .stderr(predicates::str::contains(says));
    let stderr = String::from_utf8(done.get_output().stderr.clone()).unwrap();
    assert_eq!(stderr.lines().count(), 1, "{stderr}");
    assert!(stderr.starts_with("truerun: "), "{stderr}");
}
