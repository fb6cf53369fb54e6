#include "ledger.h"

#include <algorithm>

#include "words.h"

namespace anfract {
namespace {

/// A gentle order has at most this share of the best one's risk: the weights are no finer.
constexpr double gentle_share = 0.8;

std::string risk_text(double risk) {
    // Two digits as a plain number: mm() without its unit.
    const std::string text = mm(risk, 2);
    return text.substr(0, text.size() - 3);
}

AlternativeOrder alternative(AlternativeOrder::Kind kind, const ShapingState& state) {
    AlternativeOrder other{kind, state.steps, state.risk};
    other.steps.back().action = StepAction::Finish;
    return other;
}

/// What an order with the instrument would be like beside the best.
std::string compared(const ShapingState& with, const ShapingState& best) {
    if (with.size_mm < best.size_mm - 0.0025)
        return "could be used, but the best order with it ends narrower, " + mm(with.size_mm, 2) +
               " instead of " + mm(best.size_mm, 2) + " at 3 mm from the end";
    if (with.risk > best.risk)
        return "could be used at a risk of " + risk_text(with.risk) + " instead of " +
               risk_text(best.risk);
    return "could be used, for " + std::to_string(with.steps.size()) + " instruments instead of " +
           std::to_string(best.steps.size());
}

}  // namespace

void Ledger::note_attempt(const Device& device, const ShapingState& from, const Attempt& attempt,
                          bool whole) {
    if (attempt.state) return;
    Refusal& refusal = refusals_[device.id];
    // What keeps it from the working depth says more than what keeps it from the upper part, and
    // the canal that was furthest on says most.
    const bool better = refusal.why.empty() || (whole && !refusal.whole) ||
                        (refusal.whole == whole && from.size_mm >= refusal.size_mm);
    if (better) refusal = {from.size_mm, whole, attempt.why};
}

void Ledger::note_order(const ShapingState& state) {
    const std::pair key(std::lround(state.size_mm * 200), state.steps.size());
    const auto [known, added] = orders_.emplace(key, state);
    if (!added && state.risk < known->second.risk) known->second = state;
    for (const OrderStep& step : state.steps) {
        const auto [with, first] = best_with_.emplace(step.device.id, state);
        if (!first && rank_of(state) < rank_of(with->second)) with->second = state;
    }
}

std::vector<AlternativeOrder> Ledger::alternatives(const ShapingState& best) const {
    // Two sizes smaller is another treatment, not another order.
    const double least_size = best.size_mm - 0.105;
    const ShapingState *brief = nullptr, *gentle = nullptr;
    for (const auto& [key, state] : orders_) {
        if (state.size_mm < least_size) continue;
        const bool shorter = state.steps.size() < best.steps.size();
        if (shorter && (!brief || rank_of(state) < rank_of(*brief))) brief = &state;
        const bool safer = state.risk < gentle_share * best.risk && state.size_mm < best.size_mm;
        if (safer && (!gentle || state.risk < gentle->risk)) gentle = &state;
    }
    std::vector<AlternativeOrder> others;
    if (brief) others.push_back(alternative(AlternativeOrder::Kind::Brief, *brief));
    if (gentle && gentle != brief)
        others.push_back(alternative(AlternativeOrder::Kind::Gentle, *gentle));
    return others;
}

std::vector<UnusedInstrument> Ledger::unused(const ShapingState& best, const Shortlist& shortlist,
                                             double largest_tip_mm,
                                             const OrderOptions& options) const {
    std::vector<UnusedInstrument> all = shortlist.unused;
    for (const Device* device : shortlist.devices) {
        if (used(best, *device)) continue;
        const auto refusal = refusals_.find(device->id);
        const auto with = best_with_.find(device->id);
        auto because = UnusedInstrument::Because::Size;
        std::string why;
        if (with != best_with_.end()) {
            because = UnusedInstrument::Because::Outdone;
            why = compared(with->second, best);
        } else if (device->tip_mm > largest_tip_mm + 0.005) {
            why = "is wider at its tip than this canal needs, " + mm(largest_tip_mm, 2);
        } else if (device->taper > options.enough_taper + 1e-9) {
            why =
                "is steeper than " + risk_text(options.enough_taper) + ", the most this plan uses";
        } else if (refusal != refusals_.end()) {
            because = UnusedInstrument::Because::Limit;
            why = refusal->second.why;
        } else if (best.tip_mm == 0) {
            why = "waits for a hand file of at most 0.10 mm to reach the working depth first";
        } else if (device->tip_mm <= best.tip_mm + 0.005) {
            why = "is no wider than what goes down before it, " + mm(best.tip_mm, 2);
        } else {
            why = "is more than 0.1 mm wider than what goes down before it, " + mm(best.tip_mm, 2);
        }
        all.push_back({device->id, because, name_for_people(*device) + " " + why + "."});
    }
    return all;
}

}  // namespace anfract
