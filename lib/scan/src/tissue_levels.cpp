#include "anfract/scan/tissue_levels.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>

#include "smoothing.h"

namespace anfract {
namespace {

struct Histogram {
    double low = 0;
    double step = 1;
    std::vector<double> count;
    double total = 0;
    double grey(std::size_t bin) const { return low + (double(bin) + 0.5) * step; }
};

struct Component {
    double weight = 0;
    double mean = 0;
    double sd = 1;
};

/// Lightly smoothed grey values of the voxels in the flatter half.
std::vector<float> flat_values(const Brick& brick) {
    const GridGeometry& g = brick.geometry;
    std::vector<float> values;
    if (g.size[0] < 3 || g.size[1] < 3 || g.size[2] < 3) return brick.grey;
    const std::vector<float> smooth = gaussian_smoothed(brick, 1.0);
    std::vector<std::pair<float, float>> slope_and_value;
    const int step = g.voxel_count() > 2000000 ? 2 : 1;
    for (int k = 1; k < g.size[2] - 1; k += step) {
        for (int j = 1; j < g.size[1] - 1; j += step) {
            for (int i = 1; i < g.size[0] - 1; i += step) {
                slope_and_value.push_back({float(gradient_at(g, smooth, i, j, k).squaredNorm()),
                                           smooth[g.index(i, j, k)]});
            }
        }
    }
    const auto middle = slope_and_value.begin() + std::ptrdiff_t(slope_and_value.size() / 2);
    std::nth_element(slope_and_value.begin(), middle, slope_and_value.end());
    for (auto it = slope_and_value.begin(); it != middle; ++it) values.push_back(it->second);
    return values;
}

std::optional<Histogram> histogram_of(std::vector<float> values) {
    if (values.size() < 100) return std::nullopt;
    const auto [least, most] = std::minmax_element(values.begin(), values.end());
    if (!(*most > *least)) return std::nullopt;
    Histogram h;
    h.count.assign(512, 0);
    h.low = *least;
    h.step = (double(*most) - *least) / double(h.count.size());
    for (const float v : values) {
        const auto bin = std::size_t((v - h.low) / h.step);
        h.count[std::min(bin, h.count.size() - 1)] += 1;
    }
    h.total = double(values.size());
    return h;
}

double density(const Component& c, double grey) {
    const double u = (grey - c.mean) / c.sd;
    return c.weight * std::exp(-0.5 * u * u) / (c.sd * std::sqrt(2 * std::numbers::pi));
}

/// One round of expectation maximisation; returns the log-likelihood before it.
double improve(const Histogram& h, std::vector<Component>& mixture) {
    std::vector<std::array<double, 3>> sums(mixture.size(), {0, 0, 0});
    double likelihood = 0;
    std::vector<double> parts(mixture.size());
    for (std::size_t bin = 0; bin < h.count.size(); ++bin) {
        if (h.count[bin] == 0) continue;
        const double grey = h.grey(bin);
        double all = 1e-300;
        for (std::size_t c = 0; c < mixture.size(); ++c)
            all += parts[c] = density(mixture[c], grey);
        likelihood += h.count[bin] * std::log(all * h.step);
        for (std::size_t c = 0; c < mixture.size(); ++c) {
            const double share = h.count[bin] * parts[c] / all;
            sums[c][0] += share;
            sums[c][1] += share * grey;
            sums[c][2] += share * grey * grey;
        }
    }
    for (std::size_t c = 0; c < mixture.size(); ++c) {
        if (sums[c][0] < 1e-9) continue;
        mixture[c].weight = sums[c][0] / h.total;
        mixture[c].mean = sums[c][1] / sums[c][0];
        const double variance = sums[c][2] / sums[c][0] - mixture[c].mean * mixture[c].mean;
        mixture[c].sd = std::sqrt(std::max(variance, h.step * h.step));
    }
    return likelihood;
}

/// The grey values at which the histogram, smoothed over `width` bins each way, has its highest
/// tops.
std::vector<double> highest_tops(const Histogram& h, std::size_t wanted, int width) {
    const int bins = int(h.count.size());
    std::vector<double> smooth(h.count.size(), 0);
    for (int b = 0; b < bins; ++b) {
        for (int m = -width; m <= width; ++m) {
            const int at = b + m;
            if (at >= 0 && at < bins) smooth[std::size_t(b)] += h.count[std::size_t(at)];
        }
    }
    std::vector<std::pair<double, double>> tops;
    for (int b = 0; b < bins; ++b) {
        const double here = smooth[std::size_t(b)];
        const bool left = b == 0 || here > smooth[std::size_t(b - 1)];
        const bool right = b == bins - 1 || here >= smooth[std::size_t(b + 1)];
        if (left && right) tops.push_back({here, h.grey(std::size_t(b))});
    }
    std::sort(tops.rbegin(), tops.rend());
    std::vector<double> greys;
    for (std::size_t n = 0; n < std::min(wanted, tops.size()); ++n) greys.push_back(tops[n].second);
    return greys;
}

std::vector<Component> fit_mixture(const Histogram& h) {
    std::vector<Component> best;
    double best_criterion = 1e300;
    const double range = h.step * double(h.count.size());
    for (std::size_t components = 1; components <= 6; ++components) {
        const std::vector<double> starts = highest_tops(h, components, 8);
        if (starts.size() < components) break;
        std::vector<Component> mixture;
        for (const double grey : starts)
            mixture.push_back({1.0 / double(components), grey, range / 30});
        double likelihood = 0;
        for (int round = 0; round < 200; ++round) {
            const double now = improve(h, mixture);
            if (round > 10 && now - likelihood < 1e-7 * std::abs(now)) break;
            likelihood = now;
        }
        const double criterion =
            double(3 * components - 1) * std::log(h.total) - 2 * improve(h, mixture);
        if (criterion < best_criterion) {
            best_criterion = criterion;
            best = mixture;
        }
    }
    std::erase_if(best, [](const Component& c) { return c.weight < 0.005; });
    std::sort(best.begin(), best.end(),
              [](const auto& a, const auto& b) { return a.mean < b.mean; });
    return best;
}

/// Usual grey values in cone-beam scans (common practice, no source).
std::string usual_name(double grey) {
    if (grey < -400) return "air";
    if (grey < 250) return "soft tissue";
    if (grey < 1000) return "cancellous bone";
    if (grey < 2100) return "dentine or cortical bone";
    if (grey < 3300) return "enamel";
    return "metal or filling";
}

}  // namespace

std::vector<TissueLevel> tissue_levels(const Brick& brick) {
    const auto histogram = histogram_of(flat_values(brick));
    if (!histogram) return {};
    std::vector<TissueLevel> levels;
    for (const Component& c : fit_mixture(*histogram)) {
        const std::string name = usual_name(c.mean);
        if (!levels.empty() && levels.back().name == name) {
            // Parts of one tissue: the mean of both, by share.
            TissueLevel& level = levels.back();
            const double share = level.share + c.weight;
            const double mean = (level.share * level.grey + c.weight * c.mean) / share;
            const double square =
                (level.share * (level.sd_grey * level.sd_grey + level.grey * level.grey) +
                 c.weight * (c.sd * c.sd + c.mean * c.mean)) /
                share;
            level = {name, mean, std::sqrt(std::max(0.0, square - mean * mean)), share};
        } else {
            levels.push_back({name, c.mean, c.sd, c.weight});
        }
    }
    return levels;
}

}  // namespace anfract
