//! How a rope runs through its points within one step: a complementarity problem.
//!
//! At the end of a step every point where the rope turns is in one of three states. It *sticks*: nothing ran, and
//! neither tension exceeds the other by more than the capstan ratio. It runs *forward* (toward the last name): then
//! the tension ahead is exactly the ratio times the one behind. Or it runs *backward*, the same the other way round.
//! A brake is one more such point at the first name, which can only pay out, at the tension where it slips.
//!
//! The three states are found by a semi-smooth Newton method on the tridiagonal system of the flows (M. Hintermüller,
//! K. Ito, K. Kunisch, The primal-dual active set strategy as a semismooth Newton method, SIAM J. Optim. 13, 2002),
//! started from the states and flows of the step before. The friction law is not softened.

use crate::number::{Mask, Number};
use crate::rope::{Memory, Response, Stepped};

/// Rounds of Newton's method, of which two or three are enough as a rule, and then sweeps from point to point, which
/// break a cycle between sets of states; in turn. A step that outlasts all of them has failed.
const TURNS: [(usize, usize); 5] = [(8, 16), (8, 64), (256, 256), (256, 4096), (256, 0)];

/// The largest error of a tension that ends the rounds, as a share of the rope's stiffness (N per unit strain).
const TENSION_TOLERANCE: f64 = 1e-10;
/// What may run over a point that sticks, m: about the rounding of the flow that balances two tensions.
const FLOW_TOLERANCE: f64 = 1e-14;

/// Share added to the diagonal: where a strand can take rope from slack on both sides, it then takes half from each.
const TIE_BREAK: f64 = 1e-9;

/// Which states are decided anew in a round of Newton's method.
///
/// All of them, as a rule. Where that goes round in circles, whoever runs backward is held fixed until the others have
/// settled, and all states until the tensions have: policy iteration for a game of two players (A. J. Hoffman,
/// R. M. Karp, On nonterminating stochastic games, Management Science 12, 1966).
#[derive(Clone, Copy, PartialEq)]
enum Decide {
    All,
    NotBackward,
    Nothing,
}

impl Decide {
    fn in_round(round: usize) -> Self {
        match round {
            0..8 => Self::All,
            _ if round.is_multiple_of(32) => Self::All,
            _ if round.is_multiple_of(4) => Self::NotBackward,
            _ => Self::Nothing,
        }
    }
}

/// A rope on its way through its points, with its scratch memory.
#[derive(Debug, Clone)]
pub(crate) struct Running<N: Number> {
    law: Stepped<N>,
    tolerance: N,
    /// Per segment: unstretched length, memory, tension.
    pub length: Vec<N>,
    pub memory: Vec<Memory<N>>,
    pub tension: Vec<N>,
    /// Per segment, set by the caller before a step: distance between its ends.
    pub distance: Vec<N>,
    /// Per point but the last: the capstan ratio (0 at the brake), set by the caller before a step.
    pub ratio: Vec<N>,
    /// Per point but the last: the tension above which rope is paid out with nothing behind it (the brake), else 0.
    threshold: Vec<N>,
    /// Per point but the last: rope that ran forward in the step before.
    flow: Vec<N>,
    offset: Vec<N>,
    give: Vec<N>,
    upper: Vec<N>,
    change: Vec<N>,
    /// Per point but the last: whether it was found to run forward, or backward.
    runs: Vec<(N::Mask, N::Mask)>,
}

impl<N: Number> Running<N> {
    /// A rope of the given unstretched segment lengths, at rest over the given distances.
    ///
    /// `brake` is the tension at which the first point pays out: infinite where it never does.
    pub fn new(response: Response<N>, lengths: &[N], distances: &[N], brake: N, step: f64) -> Self {
        let law = Stepped::new(response, step);
        let count = lengths.len();
        let one = N::splat(1.0);
        let strains = distances.iter().zip(lengths).map(|(&distance, &length)| distance / length - one);
        let memory: Vec<_> = strains.clone().map(Memory::at_rest).collect();
        let mut threshold = vec![N::zero(); count];
        threshold[0] = brake;
        Self {
            law,
            tolerance: (response.slow + response.fast) * N::splat(TENSION_TOLERANCE),
            length: lengths.to_vec(),
            tension: strains.map(|strain| (response.slow * strain).max(N::zero())).collect(),
            memory,
            distance: distances.to_vec(),
            ratio: vec![N::zero(); count],
            threshold,
            flow: vec![N::zero(); count],
            offset: vec![N::zero(); count],
            give: vec![N::zero(); count],
            upper: vec![N::zero(); count],
            change: vec![N::zero(); count],
            runs: vec![(N::Mask::splat(false), N::Mask::splat(false)); count],
        }
    }

    /// Lets rope run until every point obeys the friction law at the end of the step, and remembers the step.
    ///
    /// # Errors
    /// [`NotSettled`] where no set of states was found.
    pub fn settle(&mut self) -> Result<(), NotSettled> {
        for (offset, &memory) in self.offset.iter_mut().zip(&self.memory) {
            *offset = self.law.offset(memory) - self.law.stiffness;
        }
        self.start_flows();
        for (rounds, sweeps) in TURNS {
            for decide in (0..rounds).map(Decide::in_round) {
                self.pull();
                let unsettled = self.compare(decide);
                if decide == Decide::All && !unsettled.any() {
                    self.remember();
                    return Ok(());
                }
                self.correct(unsettled);
            }
            self.pull();
            let unsettled = self.compare(Decide::All);
            (0..sweeps).for_each(|_| self.sweep(unsettled));
        }
        Err(NotSettled)
    }

    /// The flows of the step before are a good guess, unless they take more from a segment than it can give.
    #[inline]
    fn start_flows(&mut self) {
        let third = N::splat(1.0 / 3.0);
        let cramped = |segment: usize| self.trial_length(segment).lt(self.length[segment] * third);
        let none = N::Mask::splat(false);
        let cramped = (0..self.length.len()).fold(none, |any, segment| any | cramped(segment));
        if cramped.any() {
            self.flow.iter_mut().for_each(|flow| *flow = N::select(cramped, N::zero(), *flow));
        }
    }

    /// What the rope stores at the end of a step, J: ½ slow ε² + q² / (2 fast) per metre.
    pub fn stored(&self, response: Response<N>) -> N {
        let half = N::splat(0.5);
        let relaxing = |memory: Memory<N>| {
            let square = memory.relaxing * memory.relaxing;
            N::select(response.fast.gt(N::zero()), square / response.fast, N::zero())
        };
        self.memory.iter().zip(&self.length).fold(N::zero(), |energy, (&memory, &length)| {
            energy + half * length * (response.slow * memory.strain * memory.strain + relaxing(memory))
        })
    }

    /// The length of a segment with the flows as they stand.
    #[inline]
    fn trial_length(&self, segment: usize) -> N {
        let out = self.flow.get(segment + 1).copied().unwrap_or(N::zero());
        self.length[segment] + self.flow[segment] - out
    }

    /// Tension of each segment, negative where it is slack, and how much it gives way per metre of rope that runs in.
    #[inline]
    fn pull(&mut self) {
        for segment in 0..self.length.len() {
            (self.tension[segment], self.give[segment]) = self.pull_of(segment);
        }
    }

    #[inline]
    fn pull_of(&self, segment: usize) -> (N, N) {
        let length = self.trial_length(segment);
        let stretched = self.law.stiffness * self.distance[segment] / length;
        (stretched + self.offset[segment], stretched / length)
    }

    /// Decides the state of each point and fills the tridiagonal system, already reduced by forward elimination.
    /// Returns the lanes that are not settled yet.
    ///
    /// A strand that gives rope cannot push, so its tension counts as zero where it is slack and stays so when the
    /// point has settled. A strand that takes rope takes no more than makes it just pull, so there the tension counts
    /// as it is: slack goes to the nearest segment.
    #[inline]
    fn compare(&mut self, decide: Decide) -> N::Mask {
        let (zero, one, tie_break) = (N::zero(), N::splat(1.0), N::splat(1.0 + TIE_BREAK));
        let mut unsettled = N::Mask::splat(false);
        let (mut behind, mut give_behind) = (zero, zero);
        let (mut upper_before, mut change_before) = (zero, zero);
        for point in 0..self.length.len() {
            let (ahead, give_ahead) = (self.tension[point], self.give[point]);
            let stays_taut = (ahead * give_behind + behind * give_ahead).gt(zero);
            let forward_ratio = N::select(stays_taut | behind.gt(zero), self.ratio[point], zero);
            let backward_ratio = N::select(stays_taut | ahead.gt(zero), self.ratio[point], zero);
            let flow = self.flow[point];
            let forward_excess = ahead - forward_ratio * behind - self.threshold[point];
            let backward_excess = behind - backward_ratio * ahead;
            let forward_give = (give_ahead + forward_ratio * give_behind) * tie_break;
            let backward_give = (give_behind + backward_ratio * give_ahead) * tie_break;
            let (mut forward, mut backward) = self.runs[point];
            if decide == Decide::All {
                let may_return = N::Mask::splat(point > 0) & !(forward_excess + forward_give * flow).gt(zero);
                backward = may_return & (backward_excess - backward_give * flow).gt(zero);
            }
            if decide != Decide::Nothing {
                forward = !backward & (forward_excess + forward_give * flow).gt(zero);
            }
            self.runs[point] = (forward, backward);

            let excess = N::select(forward, forward_excess, N::select(backward, -backward_excess, -flow));
            unsettled =
                unsettled | excess.abs().gt(N::select(forward | backward, self.tolerance, N::splat(FLOW_TOLERANCE)));

            // One row of the system: lower, diagonal, upper, right-hand side. A point that sticks takes back its flow.
            let lower = N::select(forward, -(forward_ratio * give_behind), N::select(backward, -give_behind, zero));
            let diagonal = N::select(forward, forward_give, N::select(backward, backward_give, one));
            let upper = N::select(forward, -give_ahead, N::select(backward, -(backward_ratio * give_ahead), zero));
            let pivot = diagonal - lower * upper_before;
            upper_before = upper / pivot;
            change_before = (excess - lower * change_before) / pivot;
            self.upper[point] = upper_before;
            self.change[point] = change_before;
            (behind, give_behind) = (ahead, give_ahead);
        }
        unsettled
    }

    /// Back substitution: moves the flows of the lanes that are not settled yet.
    #[inline]
    fn correct(&mut self, unsettled: N::Mask) {
        let count = self.length.len();
        for point in (0..count - 1).rev() {
            let next = self.change[point + 1];
            self.change[point] -= self.upper[point] * next;
        }
        let share = N::select(unsettled, self.admissible_share(), N::zero());
        for point in 0..count {
            self.flow[point] += self.change[point] * share;
        }
    }

    /// The share of the correction that leaves every segment more than a third of its length.
    fn admissible_share(&self) -> N {
        let mut share = N::splat(1.0);
        for segment in 0..self.length.len() {
            let out = self.change.get(segment + 1).copied().unwrap_or(N::zero());
            let shrink = out - self.change[segment];
            let room = self.room(segment);
            let tight = (shrink * share).gt(room);
            if tight.any() {
                share = N::select(tight, room / N::select(tight, shrink, N::splat(1.0)), share);
            }
        }
        share
    }

    /// Goes from point to point and lets each settle with the rest as it is: slower than Newton's method, but it comes
    /// nearer with every step (nonlinear Gauss-Seidel; J. M. Ortega, W. C. Rheinboldt, Iterative Solution of Nonlinear
    /// Equations in Several Variables, 1970, ch. 13).
    fn sweep(&mut self, unsettled: N::Mask) {
        let count = self.length.len();
        (0..count).chain((0..count).rev()).for_each(|point| self.settle_point(point, unsettled));
    }

    fn settle_point(&mut self, point: usize, unsettled: N::Mask) {
        let zero = N::zero();
        let has_behind = N::Mask::splat(point > 0);
        let ahead = self.pull_of(point);
        let behind = if point > 0 { self.pull_of(point - 1) } else { (zero, zero) };
        let (ratio, flow) = (self.ratio[point], self.flow[point]);
        let forward = flow + balancing_flow((ahead.0 - self.threshold[point], ahead.1), behind, ratio);
        let backward = N::select(has_behind, flow - balancing_flow(behind, ahead, ratio), zero);
        let settled = N::select(forward.gt(zero), forward, backward.min(zero));
        let room_behind = if point > 0 { self.room(point - 1) } else { N::splat(f64::INFINITY) };
        let admissible = settled.min(flow + room_behind).max(flow - self.room(point));
        self.flow[point] = N::select(unsettled, admissible, flow);
    }

    /// How much rope may leave a segment in one round: two thirds, so that its length stays positive.
    #[inline]
    fn room(&self, segment: usize) -> N {
        self.trial_length(segment) * N::splat(2.0 / 3.0)
    }

    /// Takes the flows into the lengths and the strains into the memories.
    fn remember(&mut self) {
        for segment in 0..self.length.len() {
            let length = self.trial_length(segment);
            let strain = self.distance[segment] / length - N::splat(1.0);
            self.tension[segment] = self.tension[segment].max(N::zero());
            self.memory[segment] = self.law.remember(self.memory[segment], strain, self.tension[segment]);
            self.offset[segment] = length;
        }
        self.length.copy_from_slice(&self.offset);
    }
}

/// The flow at which the tension of the strand that takes it is `ratio` times that of the strand that gives it, which
/// does not push: the root of a falling function that is the lesser of two straight lines. Each strand is its tension
/// and how much it gives way.
#[inline]
fn balancing_flow<N: Number>(taking: (N, N), giving: (N, N), ratio: N) -> N {
    let from_slack = taking.0 / taking.1;
    let from_taut = (taking.0 - ratio * giving.0) / (taking.1 + ratio * giving.1);
    from_slack.min(from_taut)
}

/// No set of states was found within the rounds allowed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct NotSettled;
