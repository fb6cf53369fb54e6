#include "scouting.h"

#include <algorithm>

namespace anfract {
namespace {

/// How often the way is sought anew after opening (a limit of ours).
constexpr int most_rounds = 4;
/// A scout that gains less than this over what was reached before is not worth a step.
constexpr double least_gain_mm = 0.5;
/// How far behind the deepest place of a hand file an opening stays.
constexpr double behind_scout_mm = 1;
/// Widest tip of a hand file that opens the upper part by hand.
constexpr double largest_hand_opener_mm = 0.155;

/// Four times the largest scout (a limit of ours).
constexpr double roomy_mm = 0.40;

bool is_scout(const Device& device) {
    return device.kind == DeviceKind::HandFile && device.tip_mm < largest_scout_mm;
}

}  // namespace

bool opens_well(const Device& device, const OrderOptions& options) {
    return device.taper >= 0.035 && device.taper <= options.enough_taper + 1e-9;
}

Result<Smallest> smallest_that_reaches(const Bench& bench, const ShapingState& start,
                                       const Candidates& candidates, const Progress& progress) {
    Smallest smallest;
    for (const Device* device : candidates) {
        if (progress.cancelled()) return fail(ErrorCode::Cancelled, "planning was stopped");
        Result<Passage> passage = bench.rehearsed(start, *device);
        if (!passage && passage.error().code == ErrorCode::NotConverged) continue;
        if (!passage) return tl::unexpected(passage.error());
        smallest.reaches = bench.arrives(*passage);
        if (smallest.reaches || !smallest.reach ||
            passage->reaches_mm > smallest.reach->passage.reaches_mm + 1e-9) {
            smallest.reach = Reach{*device, std::move(*passage)};
        }
        // Larger ones would only be stopped higher up.
        if (smallest.reaches || device->tip_mm > 0.155) break;
    }
    return smallest;
}

Scouting::Scouting(const Bench& bench, const Candidates& candidates, const OrderOptions& options,
                   Trials& trials)
    : bench_(bench), candidates_(candidates), options_(options), trials_(trials) {
    for (const Device* device : candidates) {
        if (is_scout(*device)) scouts_.push_back(device);
    }
    // A wide canal that hardly bends needs no finer file than the largest scout, nor does one that
    // is nowhere near as narrow as that.
    const bool wide = diameter_mm_at(bench.native(), bench.working_depth_mm()) >= 0.20 &&
                      sharpest_bend_per_mm(bench.native()).value < 1.0 / 8;
    const bool roomy = bench.narrowest_mm() >= roomy_mm;
    if ((wide || roomy) && scouts_.size() > 1) scouts_.erase(scouts_.begin(), scouts_.end() - 1);
}

Result<ShapingState> Scouting::run(ShapingState state) {
    if (!possible()) return state;
    ShapingState before_opening = state;
    for (int round = 0; round < most_rounds; ++round) {
        Result<ShapingState> scouted = to_the_depth(state);
        if (!scouted || scouted->tip_mm > 0) return scouted;
        Result<ShapingState> further = as_far_as_it_goes(*scouted);
        if (!further) return further;
        // An opening that let no file go further was for nothing.
        if (further->scouted_mm <= state.scouted_mm) return before_opening;
        before_opening = *further;
        Result<ShapingState> wider = opened(*further);
        if (!wider) return wider;
        if (wider->opens == further->opens) return further;
        state = std::move(*wider);
    }
    return before_opening;
}

Result<ShapingState> Scouting::to_the_depth(ShapingState state) {
    for (const Device* device : scouts_) {
        auto attempts = trials_.run({{&state, device, How::Finish}});
        if (!attempts) return tl::unexpected(attempts.error());
        if (attempts->front().state) state = std::move(*attempts->front().state);
    }
    return state;
}

Result<ShapingState> Scouting::as_far_as_it_goes(const ShapingState& state) {
    std::vector<Trial> trials;
    for (const Device* device : scouts_) trials.push_back({&state, device, How::Descend});
    auto attempts = trials_.run(trials);
    if (!attempts) return tl::unexpected(attempts.error());
    const ShapingState* furthest = nullptr;
    for (const Attempt& attempt : *attempts) {
        if (!attempt.state || attempt.state->scouted_mm < state.scouted_mm + least_gain_mm)
            continue;
        if (!furthest || attempt.state->scouted_mm > furthest->scouted_mm)
            furthest = &*attempt.state;
    }
    return furthest ? *furthest : state;
}

/// Down to where the upper part is opened: to its end at first; where the way was lost below that
/// all the same, also further, short of where a file has been.
std::vector<double> Scouting::opening_depths(const ShapingState& state) const {
    std::vector<double> depths{bench_.upper_part_mm()};
    const double furthest = state.scouted_mm - behind_scout_mm, more = furthest - depths[0];
    if (state.opens > 0 && more > least_gain_mm)
        depths.insert(depths.end(), {depths[0] + more / 3, depths[0] + 2 * more / 3, furthest});
    return depths;
}

/// The opening that removes most for its risk; the state unchanged when there is none.
Result<ShapingState> Scouting::opened(const ShapingState& state) {
    std::vector<Trial> trials;
    for (const Device* device : candidates_) {
        const bool by_hand = device->kind == DeviceKind::HandFile &&
                             device->tip_mm < largest_hand_opener_mm && !is_scout(*device);
        if ((!opens_well(*device, options_) && !by_hand) || used(state, *device)) continue;
        for (const double depth : opening_depths(state))
            trials.push_back({&state, device, How::Open, depth});
    }
    auto attempts = trials_.run(trials);
    if (!attempts) return tl::unexpected(attempts.error());
    const ShapingState* best = nullptr;
    const auto gain = [&](const ShapingState& s) {
        return s.steps.back().removed_mm3 / (0.2 + s.risk - state.risk);
    };
    for (const Attempt& attempt : *attempts) {
        if (attempt.state && (!best || gain(*attempt.state) > gain(*best))) best = &*attempt.state;
    }
    return best ? *best : state;
}

}  // namespace anfract
