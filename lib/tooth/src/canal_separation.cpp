#include "anfract/tooth/canal_separation.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace anfract {
namespace {

/// Two canals at one height.
struct Level {
    Vec3 apart_P{0, 0, 0};
    double outlines_mm = 0;  ///< half the sum of the diameters
};

struct Pair {
    std::string first, second;
    std::vector<Level> levels;
};

/// A canal at a height, between the samples beside it; nothing above or below it. Where a canal
/// turns back its first passage counts.
std::optional<CanalSample> at_height(const Canal& canal, const Vec3& apical, double height_mm) {
    const auto height = [&](const CanalSample& s) { return apical.dot(s.point_P); };
    for (std::size_t i = 1; i < canal.samples.size(); ++i) {
        const CanalSample &a = canal.samples[i - 1], &b = canal.samples[i];
        const double from = height(a), to = height(b);
        if (from > height_mm || to < height_mm || to <= from) continue;
        const double t = (height_mm - from) / (to - from);
        CanalSample between;
        between.point_P = a.point_P + t * (b.point_P - a.point_P);
        between.diameter_mm = std::lerp(a.diameter_mm, b.diameter_mm, t);
        return between;
    }
    return std::nullopt;
}

Pair pair_of(const Canal& first, const Canal& second, const Vec3& apical, double step_mm) {
    Pair pair{first.name, second.name, {}};
    double low = std::numeric_limits<double>::infinity(), high = -low;
    for (const CanalSample& sample : first.samples) {
        low = std::min(low, apical.dot(sample.point_P));
        high = std::max(high, apical.dot(sample.point_P));
    }
    for (double height = low + step_mm / 2; height < high; height += step_mm) {
        const auto a = at_height(first, apical, height), b = at_height(second, apical, height);
        if (!a || !b) continue;
        const Level level{a->point_P - b->point_P, (a->diameter_mm + b->diameter_mm) / 2};
        if (level.apart_P.norm() > level.outlines_mm) pair.levels.push_back(level);
    }
    return pair;
}

SeparationView seen_from(double turn_deg, const std::vector<Pair>& pairs,
                         const ClinicalFrame& frame) {
    const double turn = turn_deg * std::numbers::pi / 180;
    const Vec3 across = -std::sin(turn) * frame.buccal + std::cos(turn) * frame.mesial;
    SeparationView view{turn_deg, 1.0, {}};
    for (const Pair& pair : pairs) {
        PairSeparation seen{pair.first, pair.second};
        for (const Level& level : pair.levels) {
            const double distance = std::abs(level.apart_P.dot(across));
            seen.distance_mm += distance;
            if (distance >= level.outlines_mm) seen.apart_share += 1;
        }
        seen.distance_mm /= static_cast<double>(pair.levels.size());
        seen.apart_share /= static_cast<double>(pair.levels.size());
        view.least_share = std::min(view.least_share, seen.apart_share);
        view.pairs.push_back(std::move(seen));
    }
    return view;
}

}  // namespace

std::optional<SeparationViews> separation_views(const Tooth& tooth, const ClinicalFrame& frame,
                                                const SeparationOptions& options) {
    std::vector<Pair> pairs;
    for (std::size_t i = 0; i < tooth.canals.size(); ++i) {
        for (std::size_t k = i + 1; k < tooth.canals.size(); ++k) {
            Pair pair = pair_of(tooth.canals[i], tooth.canals[k], frame.apical, options.step_mm);
            if (!pair.levels.empty()) pairs.push_back(std::move(pair));
        }
    }
    if (pairs.empty()) return std::nullopt;
    SeparationViews views{seen_from(0, pairs, frame), {}};
    views.best = views.usual;
    std::vector<SeparationView> turned;
    for (double turn = 1; turn <= options.most_turn_deg + 1e-9; turn += 1) {
        turned.push_back(seen_from(turn, pairs, frame));
        turned.push_back(seen_from(-turn, pairs, frame));
    }
    double most = views.usual.least_share;
    for (const SeparationView& view : turned) most = std::max(most, view.least_share);
    if (views.usual.least_share >= most - options.equal_share) return views;
    // From the smallest turn on; of two equal ones the one from mesial, where the tube goes first.
    views.best = *std::find_if(turned.begin(), turned.end(), [&](const SeparationView& view) {
        return view.least_share >= most - options.equal_share;
    });
    return views;
}

}  // namespace anfract
