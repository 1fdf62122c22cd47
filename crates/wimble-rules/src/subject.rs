//! A cut as the rules see it: one box in the member's frame, with its member, span and neighbours.

use crate::expression::Given;
use crate::pack::{KindSet, SpanBasis};
use wimble_model::{
    Basis, Bearing, Cut, CutKind, CutShape, End, Member, Section, Service, ServiceKind, Span, Trade,
};

/// The geometry of a cut that rules measure. A hole with several services is the square round
/// its least circle; any other is its envelope.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Mark {
    /// Index of the cut, where it is one of the situation's.
    pub(crate) cut: u32,
    pub(crate) kind: CutKind,
    pub(crate) shape: CutShape,
    pub(crate) x0: f64,
    pub(crate) x1: f64,
    pub(crate) y0: f64,
    pub(crate) y1: f64,
    pub(crate) z0: f64,
    pub(crate) z1: f64,
    pub(crate) bit: f64,
    pub(crate) shared: u32,
    pub(crate) proud: f64,
    pub(crate) sizes_known: bool,
    /// Trades of its services, as bits.
    pub(crate) trades: u16,
    /// Kinds of its services, as bits.
    pub(crate) services: u16,
    pub(crate) depth: f64,
    pub(crate) breadth: f64,
}

impl Mark {
    /// The mark of a cut.
    pub(crate) fn of(index: u32, cut: &Cut, services: &[Service]) -> Self {
        let mut mark = Self {
            cut: index,
            kind: cut.kind,
            shape: cut.shape,
            x0: cut.min_mm.x,
            x1: cut.max_mm.x,
            y0: cut.min_mm.y,
            y1: cut.max_mm.y,
            z0: cut.min_mm.z,
            z1: cut.max_mm.z,
            bit: cut.bit_mm,
            shared: cut.shared,
            proud: cut.besides.proud_mm,
            sizes_known: cut.sizes_known,
            trades: 0,
            services: 0,
            depth: cut.depth_mm,
            breadth: cut.breadth_mm,
        };
        if let Some(circle) = cut.besides.circle.as_ref().filter(|_| cut.shared > 1) {
            let half = circle.diameter_mm / 2.0;
            (mark.x0, mark.x1) = (circle.x_mm - half, circle.x_mm + half);
            (mark.z0, mark.z1) = (circle.z_mm - half, circle.z_mm + half);
            mark.bit = circle.diameter_mm;
        }
        for service in cut.services.iter().filter_map(|ix| services.get(ix.at())) {
            mark.trades |= trade_bit(service.trade);
            mark.services |= service_bit(service.kind);
        }
        mark
    }

    pub(crate) fn width(&self) -> f64 {
        self.x1 - self.x0
    }

    pub(crate) fn height(&self) -> f64 {
        self.z1 - self.z0
    }

    pub(crate) fn across(&self) -> f64 {
        self.y1 - self.y0
    }

    /// Diameter for spacing.
    pub(crate) fn diameter(&self) -> f64 {
        self.width().max(self.height())
    }

    pub(crate) fn mid_x(&self) -> f64 {
        f64::midpoint(self.x0, self.x1)
    }

    pub(crate) fn offset(&self) -> f64 {
        f64::midpoint(self.z0, self.z1)
    }

    /// From the notched edge to the far side.
    pub(crate) fn notch_depth(&self) -> f64 {
        match self.kind {
            CutKind::BottomNotch => self.z1 + self.depth / 2.0,
            CutKind::TopNotch => self.depth / 2.0 - self.z0,
            _ => self.height(),
        }
    }

    /// The same cut made `along` further on.
    #[must_use]
    pub(crate) fn shifted(mut self, along: f64) -> Self {
        self.x0 += along;
        self.x1 += along;
        self
    }

    /// The same cut made higher or lower; a notch grows or shrinks.
    #[must_use]
    pub(crate) fn raised(mut self, by: f64) -> Self {
        let half = self.depth / 2.0;
        if self.kind == CutKind::TopNotch {
            self.z0 = (self.z0 + by).min(half);
        } else if self.kind == CutKind::BottomNotch {
            self.z1 = (self.z1 + by).max(-half);
        } else {
            self.z0 += by;
            self.z1 += by;
        }
        if self.proud > 0.0 {
            self.proud += by.abs();
        }
        self
    }

    /// The same cut made larger.
    #[must_use]
    pub(crate) fn grown(mut self, by: f64) -> Self {
        let half = by / 2.0;
        (self.x0, self.x1) = (self.x0 - half, self.x1 + half);
        match self.kind {
            CutKind::TopNotch => self.z0 -= by,
            CutKind::BottomNotch => self.z1 += by,
            _ => (self.z0, self.z1) = (self.z0 - half, self.z1 + half),
        }
        if self.across() + crate::HOLDS_MM < self.breadth {
            (self.y0, self.y1) = (self.y0 - half, self.y1 + half);
        }
        self.bit += by;
        self
    }
}

pub(crate) fn trade_bit(trade: Trade) -> u16 {
    1 << crate::pack::ALL_TRADES.iter().position(|&t| t == trade).unwrap_or(9)
}

pub(crate) fn service_bit(kind: ServiceKind) -> u16 {
    1 << crate::pack::ALL_SERVICES.iter().position(|&k| k == kind).unwrap_or(6)
}

/// A member's spans read in one way.
#[derive(Debug, Clone)]
pub(crate) struct View<'m> {
    pub(crate) member: &'m Member,
    pub(crate) spans: &'m [Span],
    /// Bearings whose doubt is read as "does not carry" are left out.
    pub(crate) with_doubtful: bool,
    /// The other reading of the span: effective for packs on the clear span, and the reverse.
    pub(crate) other_reading: bool,
}

impl<'m> View<'m> {
    pub(crate) fn of(member: &'m Member) -> Self {
        Self { member, spans: &member.spans, with_doubtful: true, other_reading: false }
    }

    /// The view without doubtful bearings, where there are any.
    pub(crate) fn without_doubtful(member: &'m Member) -> Option<Self> {
        let spans = member.spans_without_doubtful.as_deref()?;
        Some(Self { member, spans, with_doubtful: false, other_reading: false })
    }

    /// The bearings that carry in this view.
    pub(crate) fn bearings(&self) -> impl Iterator<Item = &'m Bearing> {
        let keep = self.with_doubtful;
        self.member.bearings.iter().filter(move |b| keep || !b.doubtful)
    }

    /// The span that a place belongs to, or the nearest.
    pub(crate) fn span_at(&self, x: f64) -> Option<usize> {
        let away = |span: &Span| (span.from_mm - x).max(x - span.to_mm).max(0.0);
        (0..self.spans.len()).min_by(|&a, &b| away(&self.spans[a]).total_cmp(&away(&self.spans[b])))
    }

    /// How far the member runs on beyond its outer bearings, the longer of the two; 0 where an
    /// end is open (that is a missing bearing, not an overhang).
    pub(crate) fn overhang(&self) -> f64 {
        let first = self.bearings().map(|b| b.from_mm).reduce(f64::min);
        let last = self.bearings().map(|b| b.to_mm).reduce(f64::max);
        let open = |end: End| self.member.open_ends.contains(&end);
        let start = first.filter(|_| !open(End::Start)).unwrap_or(0.0);
        let finish =
            last.filter(|_| !open(End::Finish)).map_or(0.0, |last| self.member.length_mm - last);
        start.max(finish).max(0.0)
    }
}

/// The cuts of a member, for one that is judged beside them.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Neighbours<'s> {
    pub(crate) marks: &'s [Mark],
    /// Whether they come by their least x, so that what lies far away need not be asked.
    sorted: bool,
    /// Their kinds.
    pub(crate) kinds: KindSet,
    /// Greatest size along x.
    widest: f64,
    /// Greatest diameter.
    largest: f64,
}

impl<'s> From<&'s [Mark]> for Neighbours<'s> {
    fn from(marks: &'s [Mark]) -> Self {
        let most = |of: fn(&Mark) -> f64| marks.iter().map(of).fold(0.0, f64::max);
        Self {
            marks,
            sorted: marks.is_sorted_by(|a, b| a.x0 <= b.x0),
            kinds: marks
                .iter()
                .fold(KindSet::of(&[]), |all, mark| all.or(KindSet::of(&[mark.kind]))),
            widest: most(Mark::width),
            largest: most(Mark::diameter),
        }
    }
}

impl<'s> From<&'s Vec<Mark>> for Neighbours<'s> {
    fn from(marks: &'s Vec<Mark>) -> Self {
        marks.as_slice().into()
    }
}

impl<'s, const N: usize> From<&'s [Mark; N]> for Neighbours<'s> {
    fn from(marks: &'s [Mark; N]) -> Self {
        marks.as_slice().into()
    }
}

impl Neighbours<'_> {
    /// The greatest diameter among them, if they come by their least x.
    pub(crate) fn largest_of_sorted(&self) -> Option<f64> {
        self.sorted.then_some(self.largest)
    }

    /// The cut of an index.
    pub(crate) fn of_cut(&self, cut: u32) -> Option<&Mark> {
        // Cuts are told in rising order; those of a drawn example need not be.
        let at = self.marks.binary_search_by_key(&cut, |mark| mark.cut);
        let told = at.ok().and_then(|at| self.marks.get(at));
        told.or_else(|| self.marks.iter().find(|mark| mark.cut == cut))
    }
}

/// A cut to be judged in one view of its member.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Subject<'s> {
    pub(crate) view: &'s View<'s>,
    pub(crate) mark: Mark,
    /// All cuts of the member, this one included (by its index).
    pub(crate) neighbours: Neighbours<'s>,
    /// The span that it is judged in.
    pub(crate) span: Option<usize>,
}

impl<'s> Subject<'s> {
    pub(crate) fn new(
        view: &'s View<'s>,
        mark: Mark,
        neighbours: impl Into<Neighbours<'s>>,
    ) -> Self {
        let span = view.span_at(mark.mid_x());
        Self { view, mark, neighbours: neighbours.into(), span }
    }

    pub(crate) fn member(&self) -> &'s Member {
        self.view.member
    }

    pub(crate) fn span(&self) -> Option<&'s Span> {
        self.view.spans.get(self.span?)
    }

    /// The neighbours other than the cut itself.
    pub(crate) fn others(&self) -> impl Iterator<Item = &'s Mark> {
        let own = self.mark.cut;
        self.neighbours.marks.iter().filter(move |mark| mark.cut != own)
    }

    /// The others, outwards on either side: first those that begin no further on than this cut,
    /// backwards, then the rest. With each the least gap along x that it, and all that follow on its
    /// side, can have to this cut.
    pub(crate) fn outwards(&self) -> [impl Iterator<Item = (f64, &'s Mark)>; 2] {
        let (own, Neighbours { marks, widest, .. }) = (self.mark.cut, self.neighbours);
        let (x0, x1) = (self.mark.x0, self.mark.x1);
        let at = marks.partition_point(|mark| mark.x0 <= x0);
        let (before, after) = marks.split_at(at);
        let gap = move |mark: &Mark| (mark.x0 - x1).max(x0 - mark.x0 - widest);
        let others = move |mark: &&'s Mark| mark.cut != own;
        let side = |marks: &'s [Mark], back: bool| {
            let n = marks.len();
            let inwards = (0..n).map(move |i| &marks[if back { n - 1 - i } else { i }]);
            inwards.filter(others).map(move |mark| (gap(mark), mark))
        };
        [side(before, true), side(after, false)]
    }

    /// The two points from which zones are measured, by the pack's reading of spans.
    pub(crate) fn faces(&self, basis: SpanBasis) -> Option<(f64, f64)> {
        let span = self.span()?;
        if span.basis == Basis::NearContact {
            return None;
        }
        let basis = match (basis, self.view.other_reading) {
            (SpanBasis::Clear, true) => SpanBasis::Effective,
            (SpanBasis::Effective | SpanBasis::BearingCentres, true) => SpanBasis::Clear,
            (basis, false) => basis,
        };
        let into = |index: Option<u32>| -> f64 {
            let bearing = index.and_then(|i| self.member().bearings.get(i as usize));
            let half = bearing.map_or(0.0, |b| (b.to_mm - b.from_mm) / 2.0);
            match basis {
                SpanBasis::Clear => 0.0,
                SpanBasis::Effective => half.min(self.mark.depth / 2.0),
                SpanBasis::BearingCentres => half,
            }
        };
        Some((span.from_mm - into(span.from_bearing), span.to_mm + into(span.to_bearing)))
    }

    /// What the names in a length stand for here.
    pub(crate) fn given(&self, basis: SpanBasis) -> Given {
        Given {
            depth_mm: self.mark.depth,
            breadth_mm: self.mark.breadth,
            span_mm: self.faces(basis).map(|(from, to)| to - from),
            length_mm: self.member().length_mm,
        }
    }

    /// Depth of a flange or chord.
    pub(crate) fn flange(&self) -> Option<f64> {
        match self.member().section {
            Section::IJoist { flange_mm, .. } => Some(flange_mm),
            Section::OpenWeb { chord_mm, .. } => Some(chord_mm),
            _ => None,
        }
    }

    /// The product, as its material and name say it.
    pub(crate) fn product(&self) -> String {
        product(self.member())
    }

    /// Whether one of the span's bearings is an inner one (more than one span).
    pub(crate) fn inner_support(&self) -> bool {
        self.view.spans.len() > 1
    }
}

/// A member's product, as its material and name say it.
pub(crate) fn product(member: &Member) -> String {
    [member.material.as_deref(), member.element.name.as_deref()]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(" ")
}
