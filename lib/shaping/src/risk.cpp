#include "anfract/shaping/risk.h"

#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <numeric>
#include <optional>
#include <random>

#include "advance.h"
#include "anfract/base/parallel.h"
#include "anfract/shaping/remove.h"
#include "attempt.h"

namespace anfract {
namespace {

/// How one drawn canal came out; one value for each RiskKind, larger is worse, none where there is
/// nothing to judge.
using Outcome = std::array<std::optional<double>, 7>;
constexpr std::size_t kinds = std::tuple_size_v<Outcome>;

/// Where the inputs after the widths stand.
struct Places {
    std::size_t wall, bend, stiffness, life, depth, count;
    explicit Places(const Uncertainty& u)
        : wall(u.width_depth_mm.size()),
          bend(wall + 1),
          stiffness(wall + 2),
          life(wall + 3),
          depth(wall + 4),
          count(wall + 5) {}
};

/// Turns the instrument stands: the range is taken as the middle 90 % of a lognormal law.
double cycles(const CycleRange& range, double normal) {
    constexpr double z_95 = 1.6449;
    const double sigma = std::log(range.high / range.low) / (2 * z_95);
    return range.median * std::exp(sigma * normal);
}

class Replay {
  public:
    Replay(const Lumen& native, const std::vector<OrderStep>& steps, const Uncertainty& uncertainty,
           const OrderOptions& order)
        : native_(native), uncertainty_(uncertainty), order_(order), at_(uncertainty) {
        // Scouts that another one follows decide nothing: the larger goes the same way.
        for (std::size_t i = 0; i < steps.size(); ++i) {
            const bool followed = i + 1 < steps.size() && steps[i].action == StepAction::Scout &&
                                  steps[i + 1].action == StepAction::Scout;
            if (!followed) steps_.push_back(&steps[i]);
        }
        working_depth_mm_ = 0;
        for (const OrderStep& step : steps)
            working_depth_mm_ = std::max(working_depth_mm_, step.depth_mm);
    }

    /// None when a step cannot be worked out: what follows is then not known either.
    std::optional<Outcome> play(const std::vector<double>& normal) const {
        const Lumen start = sampled_lumen(native_, uncertainty_, normal);
        Lumen lumen = start;
        double short_mm = 0, life = 0, twist = 0, ledge_N = 0;
        for (const OrderStep* step : steps_) {
            RehearsalOptions options;
            options.access = order_.access;
            options.friction = order_.friction;
            options.stop_room_mm = order_.stop_room_mm;
            // A stiffer alloy takes the same course at proportionally more force.
            const double stiffness = 1 + uncertainty_.stiffness_sd * normal[at_.stiffness];
            options.max_push_N = usual_push_N(step->device.kind) / std::max(0.1, stiffness);
            const Result<Advance> advance =
                advance_to(lumen, step->device, step->depth_mm, order_.most_passes, options);
            if (!advance) return {};
            const Passage& passage = advance->passage;
            if (!advance->arrives && passage.stopped_by == StoppedBy::Unknown) return {};
            // What only makes way for others may end anywhere.
            if (!advance->arrives && step->depth_mm > working_depth_mm_ - 0.01)
                short_mm = std::max(short_mm, step->depth_mm - passage.reaches_mm);
            if (rotates(step->device) && passage.cycles_to_failure) {
                const double stands = cycles(*passage.cycles_to_failure, normal[at_.life]);
                // What earlier cases used was reckoned at the low estimate.
                const double earlier =
                    step->device.life_used * passage.cycles_to_failure->low / stands;
                life = std::max(life, earlier + advance->passes * order_.turns / stands);
            }
            twist = std::max(twist, torque_share(step->device, passage));
            // Scouts are bent to the curve beforehand.
            if (step->action == StepAction::Shape || step->action == StepAction::Finish)
                ledge_N = std::max(ledge_N, stiffness * ledge_force_N(passage, order_));
            lumen = after(advance->lumen, step->device, passage);
        }
        const double wall_to = native_.depth_mm.back() - order_.wall_to_foramen_mm;
        const auto wall = thinnest_touched_wall_mm(start, lumen, wall_to);
        const double third =
            working_depth_mm_ - (native_.depth_mm.back() - native_.depth_mm.front()) / 3;
        const double foramen_mm =
            native_.depth_mm.back() + uncertainty_.depth_sd_mm.value_or(0) * normal[at_.depth];
        Outcome outcome{short_mm, life, twist, ledge_N};
        if (wall) outcome[std::size_t(RiskKind::ThinWall)] = -wall->value;
        outcome[std::size_t(RiskKind::Shift)] = largest_transport_mm(start, lumen, third).value;
        if (uncertainty_.depth_sd_mm)
            outcome[std::size_t(RiskKind::Overshoot)] = working_depth_mm_ - foramen_mm;
        return outcome;
    }

  private:
    const Lumen& native_;
    const Uncertainty& uncertainty_;
    const OrderOptions& order_;
    Places at_;
    std::vector<const OrderStep*> steps_;
    double working_depth_mm_ = 0;
};

/// Bounds of a share of which `hits` of `count` were seen, 95 % [Wilson1927].
std::pair<double, double> wilson(int hits, int count) {
    constexpr double z = 1.959964;
    const double n = count, p = hits / n,
                 half = z * std::sqrt(p * (1 - p) / n + z * z / (4 * n * n));
    const double middle = p + z * z / (2 * n), scale = 1 + z * z / n;
    return {std::max(0.0, (middle - half) / scale), std::min(1.0, (middle + half) / scale)};
}

/// Ranks, so that a long tail does not speak for the whole.
std::vector<double> ranks(const std::vector<double>& values) {
    std::vector<std::size_t> order(values.size());
    std::iota(order.begin(), order.end(), 0);
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return values[a] < values[b]; });
    std::vector<double> rank(values.size());
    for (std::size_t i = 0; i < order.size();) {
        std::size_t j = i;
        while (j < order.size() && values[order[j]] == values[order[i]]) ++j;
        for (std::size_t k = i; k < j; ++k) rank[order[k]] = double(i + j - 1) / 2;
        i = j;
    }
    return rank;
}

double limit_of(RiskKind kind, const OrderOptions& order) {
    switch (kind) {
        case RiskKind::Fracture:
            return 1;
        case RiskKind::Twist:
            return order.torque_share_most;
        case RiskKind::Ledge:
            return order.ledge_force_most_N;
        case RiskKind::ThinWall:
            return -order.wall_least_mm;
        case RiskKind::Shift:
            return order.transport_most_mm;
        case RiskKind::Short:
        case RiskKind::Overshoot:
            return 0;
    }
    return 0;
}

/// What a drawn canal came to, and what it was drawn with.
struct Sample {
    std::vector<double> normal;
    std::optional<Outcome> outcome;
};

/// @param samples  that were worked out
/// @return none when none of them has anything to judge
std::optional<Risk> risk_from(RiskKind kind, const std::vector<const Sample*>& samples,
                              const OrderOptions& order, const std::vector<RiskInput>& inputs) {
    std::vector<const Sample*> judged;
    std::vector<double> values;
    for (const Sample* sample : samples) {
        const auto value = (*sample->outcome)[std::size_t(kind)];
        if (!value) continue;
        judged.push_back(sample);
        values.push_back(*value);
    }
    if (values.empty()) return {};
    Risk risk;
    risk.kind = kind;
    const double limit = limit_of(kind, order);
    const auto hits = std::count_if(values.begin(), values.end(),
                                    [limit](double value) { return value > limit; });
    // Where nothing was judged (no wall was cut) nothing came true either.
    risk.probability = double(hits) / double(samples.size());
    std::tie(risk.low, risk.high) = wilson(int(hits), int(samples.size()));
    std::vector<double> sorted = values;
    std::sort(sorted.begin(), sorted.end());
    const auto at = [&](double share) {
        return sorted[std::size_t(std::lround(share * double(sorted.size() - 1)))];
    };
    // Walls are counted downwards inside, so that larger is worse for every kind.
    const double sign = kind == RiskKind::ThinWall ? -1 : 1;
    risk.limit = sign * limit;
    risk.median = sign * at(0.5);
    risk.from_5 = sign * at(sign > 0 ? 0.05 : 0.95);
    risk.to_95 = sign * at(sign > 0 ? 0.95 : 0.05);
    const std::vector<double> rank = ranks(values);
    std::vector<double> x(values.size());
    for (std::size_t k = 0; k < inputs.size(); ++k) {
        for (std::size_t i = 0; i < x.size(); ++i) x[i] = judged[i]->normal[k];
        const double share = variance_share(x, rank);
        if (share > std::max(0.2, risk.driver_share)) {
            risk.driver_share = share;
            risk.driver = inputs[k];
        }
    }
    return risk;
}

bool anything_came_true(const Outcome& outcome, const OrderOptions& order) {
    for (std::size_t k = 0; k < kinds; ++k) {
        if (outcome[k] && *outcome[k] > limit_of(RiskKind(k), order)) return true;
    }
    return false;
}

}  // namespace

Result<OrderRisk> order_risk(const Lumen& native, const std::vector<OrderStep>& steps,
                             const Uncertainty& uncertainty, const OrderOptions& order,
                             const RiskOptions& options, const Progress& progress) {
    OrderRisk result;
    if (options.samples < 1 || steps.empty()) return result;
    const Places places(uncertainty);
    const auto count = std::size_t(options.samples);
    std::vector<Sample> drawn(count);
    const Replay replay(native, steps, uncertainty, order);
    std::atomic<std::size_t> done{0};
    parallel_for(count, options.threads, [&](std::size_t begin, std::size_t end) {
        for (std::size_t i = begin; i < end && !progress.cancelled(); ++i) {
            // Each sample has its own numbers, whichever thread draws them.
            std::seed_seq seed{options.seed, std::uint64_t(i)};
            std::mt19937_64 engine(seed);
            std::normal_distribution<double> normal;
            drawn[i].normal.resize(places.count);
            for (double& value : drawn[i].normal) value = normal(engine);
            drawn[i].outcome = replay.play(drawn[i].normal);
            progress.report(double(++done) / double(count), "sampling the risks");
        }
    });
    if (progress.cancelled()) return fail(ErrorCode::Cancelled, "planning was stopped");
    std::vector<const Sample*> known;
    int hits = 0;
    for (const Sample& sample : drawn) {
        if (!sample.outcome) continue;
        known.push_back(&sample);
        hits += anything_came_true(*sample.outcome, order);
    }
    result.samples = options.samples;
    result.unknown = options.samples - int(known.size());
    if (known.empty()) return result;
    const std::vector<RiskInput> inputs = risk_inputs(uncertainty);
    for (std::size_t k = 0; k < kinds; ++k) {
        if (const auto risk = risk_from(RiskKind(k), known, order, inputs))
            result.risks.push_back(*risk);
    }
    result.any = double(hits) / double(known.size());
    std::tie(result.any_low, result.any_high) = wilson(hits, int(known.size()));
    std::stable_sort(result.risks.begin(), result.risks.end(),
                     [](const Risk& a, const Risk& b) { return a.probability > b.probability; });
    return result;
}

}  // namespace anfract
