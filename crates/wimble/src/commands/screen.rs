//! What the terminal can do: width, colour, progress.

use crate::Stage;
use anstream::AutoStream;
use anstream::stream::RawStream;
use indicatif::{ProgressBar, ProgressStyle};
use std::io::{IsTerminal, stderr};
use std::time::Duration;
use wimble_report::terminal::Options;

/// Whether tones may be used there: on terminals only, never against `NO_COLOR`.
pub(super) fn colour(stream: &impl RawStream) -> bool {
    AutoStream::choice(stream) != anstream::ColorChoice::Never
}

/// How a page for standard output is laid out.
pub(super) fn page(all: bool) -> Options {
    Options { width: width().unwrap_or(100), colour: colour(&std::io::stdout()), all }
}

/// Columns of standard output, if it is a terminal.
pub(super) fn width() -> Option<usize> {
    if std::io::stdout().is_terminal() { clap_width() } else { None }
}

/// Columns of the terminal.
fn clap_width() -> Option<usize> {
    terminal_size::terminal_size().map(|(width, _)| usize::from(width.0))
}

/// A line on standard error that says what is being done, for work that takes longer than a
/// moment; only on terminals.
pub(super) struct Progress(Option<ProgressBar>);

impl Progress {
    pub(super) fn start() -> Self {
        if !stderr().is_terminal() {
            return Self(None);
        }
        let bar = ProgressBar::new_spinner();
        if let Ok(style) = ProgressStyle::with_template("{spinner} {msg} ({elapsed})") {
            bar.set_style(style);
        }
        bar.enable_steady_tick(Duration::from_millis(200));
        Self(Some(bar))
    }

    pub(super) fn stage(&self, stage: Stage) {
        if let Some(bar) = &self.0 {
            bar.set_message(stage.words());
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if let Some(bar) = &self.0 {
            bar.finish_and_clear();
        }
    }
}
