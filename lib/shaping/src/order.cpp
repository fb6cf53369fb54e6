#include "anfract/shaping/order.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "candidates.h"
#include "explain.h"
#include "scouting.h"

namespace anfract {
namespace {

class OrderSearch {
  public:
    OrderSearch(const Lumen& native, const Tray& tray, const OrderOptions& options, double depth_mm,
                const Progress& progress)
        : options_(options),
          bench_(native, options_, depth_mm),
          shortlist_(cutting_candidates(tray, depth_mm, options.stop_room_mm)),
          candidates_(shortlist_.devices),
          progress_(progress),
          trials_(bench_, options_, progress_, ledger_),
          scouting_(bench_, candidates_, options_, trials_),
          explain_(bench_, tray, candidates_, options_, trials_) {}

    Result<Order> run() {
        ShapingState start;
        start.lumen = bench_.native();
        Result<Smallest> smallest = smallest_that_reaches(bench_, start, candidates_, progress_);
        if (!smallest) return tl::unexpected(smallest.error());
        Result<ShapingState> scouted = scouting_.run(std::move(start));
        if (!scouted) return tl::unexpected(scouted.error());
        Result<ShapingState> best = widen(*scouted);
        if (!best) return tl::unexpected(best.error());
        return finish(std::move(*best), std::move(*smallest));
    }

  private:
    std::vector<Trial> trials_from(const std::vector<ShapingState>& beam) const {
        std::vector<Trial> trials;
        for (const ShapingState& state : beam) {
            for (const Device* device : candidates_) {
                if (bench_.widens(state, *device)) trials.push_back({&state, device, How::Finish});
                if (state.opens == opened_before_ && opens_well(*device, options_) &&
                    !used(state, *device)) {
                    trials.push_back({&state, device, How::Open});
                }
            }
        }
        return trials;
    }

    /// Of each size, opened or not, the least risky; then the largest sizes.
    std::vector<ShapingState> pruned(std::vector<Attempt> attempts) const {
        std::map<std::tuple<long, long, int>, ShapingState> best;
        for (Attempt& attempt : attempts) {
            if (!attempt.state) continue;
            const auto key =
                std::tuple(std::lround(attempt.state->tip_mm * 1000),
                           std::lround(attempt.state->taper * 1000), attempt.state->opens);
            const auto known = best.find(key);
            if (known == best.end()) {
                best.emplace(key, std::move(*attempt.state));
            } else if (attempt.state->risk < known->second.risk) {
                known->second = std::move(*attempt.state);
            }
        }
        std::vector<ShapingState> beam;
        for (auto& [key, state] : best) beam.push_back(std::move(state));
        std::stable_sort(beam.begin(), beam.end(),
                         [](const ShapingState& a, const ShapingState& b) {
                             // An opened canal has not grown at its end but will bear more: it
                             // counts a size larger.
                             const double opened = 0.05;
                             return a.size_mm + opened * a.opens - 0.01 * a.risk >
                                    b.size_mm + opened * b.opens - 0.01 * b.risk;
                         });
        if (beam.size() > std::size_t(options_.beam_width))
            beam.resize(std::size_t(options_.beam_width));
        return beam;
    }

    Result<ShapingState> widen(ShapingState start) {
        ShapingState best = start;
        if (start.tip_mm == 0 && scouting_.possible()) return best;  // nothing gets down
        opened_before_ = start.opens;
        std::vector<ShapingState> beam{std::move(start)};
        for (int step = 0; step < options_.most_steps && !beam.empty(); ++step) {
            auto attempts = trials_.run(trials_from(beam));
            if (!attempts) return tl::unexpected(attempts.error());
            for (const Attempt& attempt : *attempts) {
                if (!attempt.state) continue;
                const ShapingState& state = *attempt.state;
                if (state.steps.back().action == StepAction::Open) continue;
                ledger_.note_order(state);
                if (rank_of(state) < rank_of(best)) best = state;
            }
            beam = pruned(std::move(*attempts));
            progress_.report(double(step + 1) / options_.most_steps, "ordering the instruments");
        }
        return best;
    }

    Result<Order> finish(ShapingState best, Smallest smallest) {
        Order order;
        order.working_depth_mm = bench_.working_depth_mm();
        order.smallest = std::move(smallest.reach);
        order.reached = smallest.reaches || best.tip_mm > 0;
        if (best.tip_mm > 0) {
            order.final_step = best.steps.size() - 1;
            if (auto said = explain_.limit(best, order); !said) return tl::unexpected(said.error());
            auto missing = explain_.missing(best);
            if (!missing) return tl::unexpected(missing.error());
            order.missing = std::move(*missing);
            order.alternatives = ledger_.alternatives(best);
            best.steps.back().action = StepAction::Finish;
        }
        order.unused = ledger_.unused(best, shortlist_, bench_.largest_tip_mm(), options_);
        order.risk = best.risk;
        order.steps = std::move(best.steps);
        order.shaped = std::move(best.lumen);
        return order;
    }

    OrderOptions options_;
    Bench bench_;
    Shortlist shortlist_;
    const Candidates& candidates_;
    const Progress& progress_;
    Ledger ledger_;
    Trials trials_;
    Scouting scouting_;
    Explain explain_;
    int opened_before_ = 0;  ///< times the upper part was opened while scouting
};

}  // namespace

Result<Order> find_order(const Lumen& native, const Tray& tray, const OrderOptions& options,
                         const Progress& progress) {
    if (auto usable = check_lumen(native); !usable) return tl::unexpected(usable.error());
    const double depth =
        options.working_depth_mm > 0 ? options.working_depth_mm : native.depth_mm.back() - 0.5;
    if (depth <= native.depth_mm.front()) {
        return fail(ErrorCode::BadInput, "the working depth lies above the canal's orifice",
                    native.canal);
    }
    return OrderSearch(native, tray, options, depth, progress).run();
}

}  // namespace anfract
