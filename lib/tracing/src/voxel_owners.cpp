#include "voxel_owners.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "anfract/base/parallel.h"
#include "ridge.h"

namespace anfract::tracing {
namespace {

constexpr float infinity = std::numeric_limits<float>::infinity();

}  // namespace

void VoxelOwners::claim(const std::vector<std::size_t>& path, int owner) {
    nearest_mm_.resize(owner_.size(), infinity);
    foot_.resize(owner_.size());
    parallel_for(std::size_t(brick_.geometry.size[2]), threads_,
                 [&](std::size_t begin, std::size_t end) {
                     claim_between(path, owner, static_cast<int>(begin), static_cast<int>(end));
                 });
}

void VoxelOwners::claim_between(const std::vector<std::size_t>& path, int owner, int from, int to) {
    const GridGeometry& g = brick_.geometry;
    constexpr double reach_mm = 1.2;
    const Vec3 reach = Vec3::Constant(reach_mm).cwiseQuotient(g.spacing_mm);
    std::vector<std::size_t> touched;
    for (const std::size_t p : path) {
        const Vec3 at = voxel_I(g, p);
        int low[3], high[3];
        for (int a = 0; a < 3; ++a) {
            low[a] = std::max(0, static_cast<int>(std::ceil(at[a] - reach[a])));
            high[a] = std::min(g.size[std::size_t(a)] - 1, static_cast<int>(at[a] + reach[a]));
        }
        for (int k = std::max(low[2], from); k <= high[2] && k < to; ++k) {
            for (int j = low[1]; j <= high[1]; ++j) {
                for (int i = low[0]; i <= high[0]; ++i) {
                    const std::size_t n = g.index(i, j, k);
                    if (owner_[n] != none) continue;
                    const auto d =
                        static_cast<float>((Vec3(i, j, k) - at).cwiseProduct(g.spacing_mm).norm());
                    if (d > reach_mm || d >= nearest_mm_[n]) continue;
                    if (nearest_mm_[n] == infinity) touched.push_back(n);
                    nearest_mm_[n] = d;
                    foot_[n] = static_cast<std::uint32_t>(p);
                }
            }
        }
    }
    for (const std::size_t n : touched) {
        if (nearest_mm_[n] < 0.3F || ridge_between(brick_, n, foot_[n]) < ridge_grey_)
            owner_[n] = owner;
        nearest_mm_[n] = infinity;
    }
}

}  // namespace anfract::tracing
