//! Work that is done out of order and taken up in order.

use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// How many pieces are done and not yet taken up, at most: what bounds the memory.
const AHEAD: usize = 256;

/// How often whoever waits looks at how much is done.
const LOOK: Duration = Duration::from_millis(200);

/// Pieces of work in their order, with what came of them until it is taken up.
pub(super) struct Line<T> {
    state: Mutex<State<T>>,
    changed: Condvar,
}

struct State<T> {
    made: Vec<Option<T>>,
    begun: usize,
    done: usize,
    taken: usize,
    /// Whether no more are wanted.
    stopped: bool,
}

impl<T> Line<T> {
    pub(super) fn new(pieces: usize) -> Self {
        let made = (0..pieces).map(|_| None).collect();
        let state = State { made, begun: 0, done: 0, taken: 0, stopped: false };
        Self { state: Mutex::new(state), changed: Condvar::new() }
    }

    /// The next piece to be done, once it is not too far ahead; none after the last, or when no more are wanted.
    pub(super) fn next(&self) -> Option<usize> {
        let mut state = self.state();
        while !state.stopped && state.begun < state.made.len() && state.begun >= state.taken + AHEAD {
            state = self.changed.wait(state).unwrap_or_else(PoisonError::into_inner);
        }
        let next = state.begun;
        if state.stopped || next >= state.made.len() {
            return None;
        }
        state.begun += 1;
        Some(next)
    }

    /// Lays down what came of a piece.
    pub(super) fn put(&self, at: usize, made: T) {
        let mut state = self.state();
        state.done += 1;
        if let Some(slot) = state.made.get_mut(at) {
            *slot = Some(made);
        }
        drop(state);
        self.changed.notify_all();
    }

    /// Waits for what comes of a piece; to be called for each in order. `look` is told from time to time how many are done.
    pub(super) fn take(&self, at: usize, mut look: impl FnMut(usize)) -> T {
        let mut state = self.state();
        loop {
            look(state.done);
            if let Some(made) = state.made.get_mut(at).and_then(Option::take) {
                state.taken += 1;
                drop(state);
                self.changed.notify_all();
                return made;
            }
            state = self.changed.wait_timeout(state, LOOK).unwrap_or_else(PoisonError::into_inner).0;
        }
    }

    /// Says that no more are wanted.
    pub(super) fn stop(&self) {
        self.state().stopped = true;
        self.changed.notify_all();
    }

    fn state(&self) -> MutexGuard<'_, State<T>> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicBool, Ordering};
    use std::thread;

    #[test]
    fn pieces_are_taken_up_in_order_whoever_does_them() {
        const PIECES: usize = 3 * AHEAD;
        let line = Line::new(PIECES);
        let too_far = AtomicBool::new(false);
        let hand = || {
            while let Some(at) = line.next() {
                if at >= line.state().taken + AHEAD {
                    too_far.store(true, Ordering::Relaxed);
                }
                line.put(at, at);
            }
        };
        let mut most_done = 0;
        thread::scope(|scope| {
            for _ in 0..4 {
                scope.spawn(hand);
            }
            // Until all that may be done ahead is.
            while line.state().done < AHEAD {
                thread::yield_now();
            }
            (0..1000).for_each(|_| thread::yield_now());
            for at in 0..PIECES {
                assert_eq!(line.take(at, |done| most_done = most_done.max(done)), at);
            }
        });
        assert_eq!((most_done, line.next(), too_far.into_inner()), (PIECES, None, false));
    }

    #[test]
    fn nobody_works_after_a_stop() {
        let line: Line<()> = Line::new(2 * AHEAD);
        assert!((0..AHEAD).all(|at| line.next() == Some(at)));
        line.put(0, ());
        line.take(0, |_| {});
        assert_eq!(line.next(), Some(AHEAD));
        line.stop();
        assert_eq!(line.next(), None);
    }
}
