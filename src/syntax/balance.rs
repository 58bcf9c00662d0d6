//! Which blocks an unbalanced text meant to close, by how its lines are indented.

/// The indentation of each open block's node, while so many blocks are known never to be closed.
#[derive(Debug)]
pub(super) struct Indents {
    open: Vec<usize>,
    left: usize,
}

impl Indents {
    /// For a text in which `unclosed` blocks are never closed.
    pub(super) fn new(unclosed: usize) -> Indents {
        Indents { open: Vec::new(), left: unclosed }
    }

    /// A block opens whose node begins on a line indented so far.
    pub(super) fn open(&mut self, indent: usize) {
        self.open.push(indent);
    }

    /// The innermost block closes.
    pub(super) fn close(&mut self) {
        self.open.pop();
    }

    /// How many blocks end before a node that begins a line indented so far: those whose own node is indented as far or
    /// farther.
    pub(super) fn before_node(&mut self, indent: usize) -> usize {
        self.ends(|open| open >= indent)
    }

    /// How many blocks end before a closing brace that begins a line indented so far: those whose node is indented
    /// farther.
    pub(super) fn before_brace(&mut self, indent: usize) -> usize {
        self.ends(|open| open > indent)
    }

    fn ends(&mut self, ends: impl Fn(usize) -> bool) -> usize {
        let closes = self.open.iter().rev().take_while(|open| ends(**open)).count().min(self.left);
        self.left -= closes;
        closes
    }
}
