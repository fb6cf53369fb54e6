#include "depth_search.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace anfract {
namespace {

constexpr double scan_step_mm = 2.0;

/// What to start from between two that were found: the nearer one, if it is near enough. A rod
/// is shortened rather than carried on straight.
const Probe* start_for(double tip_depth_mm, const Probe& good, const Probe& bad) {
    constexpr double farthest_up_mm = 1.0, farthest_down_mm = 0.3;
    const double up = bad.depth_mm - tip_depth_mm, down = tip_depth_mm - good.depth_mm;
    if (good.held && down < farthest_down_mm && down < up) return &good;
    return bad.held && up < farthest_up_mm ? &bad : nullptr;
}

using Try = std::function<Probe(double depth_mm, const Probe* near)>;

/// Brings a depth that passes and a deeper one that does not to within the tolerance: by false
/// position on the logarithm of the ratio, just beside the root so that it is soon shut in from
/// both sides. An end that stays counts half each time (the Illinois rule), and where even that
/// makes no headway, or where nothing is known at the end, the range is halved.
void close_in(Probe& good, Probe& bad, const Try& probe) {
    constexpr double beside = 0.45 * depth_tolerance_mm;
    const auto height = [](const Probe& one) {
        constexpr double loose = 0.1;  // what is far below 1 says only that the device lies loose
        return std::log(std::max(one.ratio, loose));
    };
    double below = height(good), above = height(bad);
    double width_before = 2 * (bad.depth_mm - good.depth_mm), width_first = 2 * width_before;
    int stayed = 0;  // how often the good end did, less how often the bad one
    while (bad.depth_mm - good.depth_mm > depth_tolerance_mm) {
        const double width = bad.depth_mm - good.depth_mm;
        double share = 0.5;
        if (bad.known && width < 0.5 * width_first && below < above)
            share = below / (below - above);
        width_first = std::exchange(width_before, width);
        const double root = good.depth_mm + share * width;
        // The far side of the root from the nearer end.
        double depth = share < 0.5 ? root + beside : root - beside;
        depth = std::clamp(depth, good.depth_mm + beside, bad.depth_mm - beside);
        Probe middle = probe(depth, start_for(depth, good, bad));
        if (middle.passes()) {
            good = std::move(middle);
            below = height(good);
            stayed = std::min(stayed - 1, -1);
            if (stayed < -1) above /= 2;
        } else {
            bad = std::move(middle);
            above = height(bad);
            stayed = std::max(stayed + 1, 1);
            if (stayed > 1) below /= 2;
        }
    }
}

}  // namespace

WayDown find_way_down(double orifice_mm, double least_inside_mm, Probe deepest,
                      const Trier& trier) {
    const double end_mm = deepest.depth_mm;
    const auto make_fine = [&](Probe& probe) {
        if (!probe.fine) probe = trier.fine(probe);
    };
    const double step = deepest.ratio < 0.5 ? 2 * scan_step_mm : scan_step_mm;
    Probe good{orifice_mm}, bad = deepest;
    for (;;) {
        bool stopped = false;
        for (double depth = good.depth_mm + step; depth < end_mm && !stopped; depth += step) {
            Probe next = trier.rough(depth, nullptr);
            stopped = !next.passes();
            (stopped ? bad : good) = std::move(next);
        }
        if (!stopped && deepest.passes()) {
            make_fine(deepest);
            if (deepest.passes()) return {std::move(deepest), {}};
            bad = deepest;
        }
        close_in(good, bad, trier.rough);
        const double last = bad.depth_mm;
        bad.depth_mm = std::max(bad.depth_mm, orifice_mm + least_inside_mm);
        make_fine(bad);
        if (!bad.passes()) break;
        // A coarse answer had erred: with all nodes it passes there too, and may go on below.
        if (last >= end_mm) deepest = bad;
        good = std::exchange(bad, deepest);
    }
    if (good.held) make_fine(good);
    if (!good.passes()) {
        // Nor does the coarse answer above it count: with all nodes from the orifice on.
        bad = std::exchange(good, Probe{orifice_mm});
        close_in(good, bad, [&](double depth, const Probe* near) {
            Probe probe = trier.rough(depth, near);
            make_fine(probe);
            return probe;
        });
    }
    return {std::move(good), std::move(bad)};
}

}  // namespace anfract
