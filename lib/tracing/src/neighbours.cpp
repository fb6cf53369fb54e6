#include "neighbours.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "coarse.h"
#include "components.h"
#include "distance.h"

namespace anfract::tracing {
namespace {

constexpr double entrance_mm = 0.25;   ///< radius of what the pulp is closed against
constexpr double least_peak_mm = 2.0;  ///< a lower incisor's crown is 2.3 mm to its middle
constexpr double least_ratio = 0.6;    ///< of a neck to the lesser of the bodies it joins

/// The basins of `depth_mm`, deepest voxels first; where two meet they become one unless a neck
/// parts them.
class Basins {
  public:
    Basins(const Mask& mask, const std::vector<float>& depth_mm, const GridGeometry& g)
        : depth_mm_(depth_mm), label_(mask.size(), 0) {
        std::vector<std::size_t> order;
        for (std::size_t n = 0; n < mask.size(); ++n) {
            if (mask[n] != 0) order.push_back(n);
        }
        std::stable_sort(order.begin(), order.end(),
                         [&](std::size_t a, std::size_t b) { return depth_mm[a] > depth_mm[b]; });
        for (const std::size_t n : order) take(n, g);
    }

    /// The basin of each voxel, from 1; 0 outside the mask.
    std::vector<int> labels() const {
        std::vector<int> labels(label_.size());
        std::transform(label_.begin(), label_.end(), labels.begin(),
                       [this](int basin) { return root(basin); });
        return labels;
    }
    /// How deep its deepest voxel lies.
    float peak_mm(int basin) const { return peak_mm_[std::size_t(basin)]; }
    int count() const { return static_cast<int>(parent_.size()) - 1; }

  private:
    int root(int basin) const {
        while (parent_[std::size_t(basin)] != basin) basin = parent_[std::size_t(basin)];
        return basin;
    }

    void take(std::size_t n, const GridGeometry& g) {
        const std::array<std::size_t, 3> stride{1, std::size_t(g.size[0]),
                                                std::size_t(g.size[0]) * std::size_t(g.size[1])};
        for (std::size_t a = 0; a < 3; ++a) {
            const std::size_t place = n / stride[a] % std::size_t(g.size[a]);
            if (place > 0) meet(n, n - stride[a]);
            if (place + 1 < std::size_t(g.size[a])) meet(n, n + stride[a]);
        }
        if (label_[n] > 0) return;
        label_[n] = count() + 1;
        parent_.push_back(label_[n]);
        peak_mm_.push_back(depth_mm_[n]);
    }

    void meet(std::size_t n, std::size_t other) {
        if (label_[other] == 0) return;
        const int there = root(label_[other]);
        if (label_[n] == 0) {
            label_[n] = there;
            return;
        }
        const int here = root(label_[n]);
        if (here == there) return;
        const float lesser = std::min(peak_mm_[std::size_t(here)], peak_mm_[std::size_t(there)]);
        if (lesser >= least_peak_mm && depth_mm_[n] < least_ratio * lesser) return;
        const bool deeper = peak_mm_[std::size_t(here)] >= peak_mm_[std::size_t(there)];
        parent_[std::size_t(deeper ? there : here)] = deeper ? here : there;
    }

    const std::vector<float>& depth_mm_;
    std::vector<int> label_, parent_{0};
    std::vector<float> peak_mm_{0};
};

}  // namespace

Mask without_neighbours(const Mask& hard, const GridGeometry& geometry, const Vec3& click_P,
                        unsigned threads) {
    const Coarse step = coarse_steps(geometry);
    const GridGeometry coarse = coarser(geometry, step);
    Mask shell(coarse.voxel_count(), 0);
    for_both(geometry, coarse, step, [&](std::size_t n, std::size_t m) { shell[m] |= hard[n]; });
    const Mask rough = coarsened(hard, geometry, coarse, step);

    const Mask solid = closed_over(rough, coarse, entrance_mm, threads);
    Mask outside(solid.size()), all(solid.size());
    for (std::size_t m = 0; m < solid.size(); ++m) {
        outside[m] = solid[m] == 0;
        all[m] = solid[m] | shell[m];
    }
    const std::vector<float> depth_mm = distance_to(outside, coarse, threads);
    const Basins basins(all, depth_mm, coarse);

    const std::vector<int> basin = basins.labels();
    const int own = label_round(basin, basins.count(), coarse, click_P, click_reach_mm);
    if (own == 0) return hard;
    Mask result = hard;
    for_both(geometry, coarse, step, [&](std::size_t n, std::size_t m) {
        if (basin[m] != own && basins.peak_mm(basin[m]) >= least_peak_mm) result[n] = 0;
    });
    return result;
}

}  // namespace anfract::tracing
