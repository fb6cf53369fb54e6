#include "minimal_path.h"

#include <algorithm>
#include <bit>
#include <functional>
#include <limits>
#include <queue>

namespace anfract::tracing {
namespace {

constexpr float infinity = std::numeric_limits<float>::infinity();

struct Step {
    int di, dj, dk;
    std::ptrdiff_t offset;
    float half_length_mm;
};

std::vector<Step> neighbour_steps(const GridGeometry& geometry) {
    std::vector<Step> steps;
    for (int dk = -1; dk <= 1; ++dk) {
        for (int dj = -1; dj <= 1; ++dj) {
            for (int di = -1; di <= 1; ++di) {
                if (di == 0 && dj == 0 && dk == 0) continue;
                const double length = Vec3(di, dj, dk).cwiseProduct(geometry.spacing_mm).norm();
                const std::ptrdiff_t offset =
                    (std::ptrdiff_t(dk) * geometry.size[1] + dj) * geometry.size[0] + di;
                steps.push_back({di, dj, dk, offset, static_cast<float>(length / 2)});
            }
        }
    }
    return steps;
}

/// The voxels on the front, cheapest first; ties go by voxel, so that the tree does not depend on
/// the order of insertion. None may be cheaper than the last one taken. Only the cheapest few,
/// those of one narrow range of cost, are kept in order.
class Front {
  public:
    void push(float cost, std::uint32_t voxel) {
        // Costs are never negative, so their bits order as they do.
        const std::uint64_t entry = std::uint64_t{std::bit_cast<std::uint32_t>(cost)} << 32 | voxel;
        const std::size_t range = std::max(range_, static_cast<std::size_t>(cost / width));
        if (range >= waiting_.size()) waiting_.resize(range + 1);
        waiting_[range].push_back(entry);
        if (range == range_) std::push_heap(waiting_[range].begin(), waiting_[range].end(), later);
    }

    /// False when there is none left.
    bool pop(float& cost, std::uint32_t& voxel) {
        while (range_ < waiting_.size() && waiting_[range_].empty()) {
            if (++range_ == waiting_.size()) return false;
            std::make_heap(waiting_[range_].begin(), waiting_[range_].end(), later);
        }
        if (range_ == waiting_.size()) return false;
        std::vector<std::uint64_t>& now = waiting_[range_];
        std::pop_heap(now.begin(), now.end(), later);
        cost = std::bit_cast<float>(static_cast<std::uint32_t>(now.back() >> 32));
        voxel = static_cast<std::uint32_t>(now.back());
        now.pop_back();
        return true;
    }

  private:
    static constexpr std::greater<std::uint64_t> later{};
    static constexpr float width = 0.02F;
    std::vector<std::vector<std::uint64_t>> waiting_{1};  ///< by range of cost
    std::size_t range_ = 0;
};

}  // namespace

std::vector<std::size_t> PathField::path_to(std::size_t voxel) const {
    std::vector<std::size_t> path;
    if (cost[voxel] == infinity) return path;
    path.push_back(voxel);
    while (parent[path.back()] != none) path.push_back(order[std::size_t(parent[path.back()])]);
    std::reverse(path.begin(), path.end());
    return path;
}

PathField cheapest_paths(const std::vector<float>& cost_per_mm, const GridGeometry& geometry,
                         const std::vector<std::size_t>& sources, const PathReach& reach,
                         const Progress& progress) {
    PathField field;
    field.cost.assign(cost_per_mm.size(), infinity);
    field.parent.assign(cost_per_mm.size(), PathField::none);
    Front front;
    for (const std::size_t source : sources) {
        field.cost[source] = 0;
        front.push(0, static_cast<std::uint32_t>(source));
    }
    const std::vector<Step> steps = neighbour_steps(geometry);
    const auto [nx, ny, nz] = geometry.size;
    float limit = reach.limit;
    bool goal_ahead = bool(reach.is_goal);
    float so_far = 0;
    std::uint32_t voxel = 0;
    while (front.pop(so_far, voxel)) {
        if (so_far > field.cost[voxel]) continue;
        if (so_far > limit) break;
        if (field.order.size() % 8192 == 0 && progress.cancelled()) break;
        const auto place = static_cast<std::int32_t>(field.order.size());
        field.order.push_back(voxel);
        if (goal_ahead && reach.is_goal(voxel)) {
            goal_ahead = false;
            limit = std::min(limit, so_far + reach.beyond);
        }
        const int i = static_cast<int>(voxel % unsigned(nx));
        const int j = static_cast<int>(voxel / unsigned(nx) % unsigned(ny));
        const int k = static_cast<int>(voxel / (unsigned(nx) * unsigned(ny)));
        const bool inner = i > 0 && j > 0 && k > 0 && i + 1 < nx && j + 1 < ny && k + 1 < nz;
        for (const Step& step : steps) {
            const bool within = inner || (unsigned(i + step.di) < unsigned(nx) &&
                                          unsigned(j + step.dj) < unsigned(ny) &&
                                          unsigned(k + step.dk) < unsigned(nz));
            if (!within) continue;
            const auto next = std::size_t(std::ptrdiff_t(voxel) + step.offset);
            if (field.cost[next] <= so_far) continue;
            const float rate = cost_per_mm[next];
            if (rate == infinity) continue;
            const float here =
                std::min(cost_per_mm[voxel], rate);  // a source may lie off the domain
            const float cost = so_far + step.half_length_mm * (here + rate);
            if (cost >= field.cost[next] || cost > limit) continue;
            if (reach.is_shut && reach.is_shut(next)) continue;
            field.cost[next] = cost;
            field.parent[next] = place;
            front.push(cost, static_cast<std::uint32_t>(next));
        }
    }
    return field;
}

}  // namespace anfract::tracing
