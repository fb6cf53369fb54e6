#include "minimal_path.h"

#include <algorithm>
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

struct Entry {
    float cost;
    std::uint32_t voxel;
    // Ties go by voxel, so that the tree does not depend on the order of insertion.
    bool operator>(const Entry& other) const {
        return cost != other.cost ? cost > other.cost : voxel > other.voxel;
    }
};

}  // namespace

std::vector<std::size_t> PathField::path_to(std::size_t voxel) const {
    std::vector<std::size_t> path;
    if (cost[voxel] == infinity) return path;
    for (auto n = static_cast<std::int32_t>(voxel); n != none; n = parent[std::size_t(n)]) {
        path.push_back(std::size_t(n));
    }
    std::reverse(path.begin(), path.end());
    return path;
}

PathField cheapest_paths(const std::vector<float>& cost_per_mm, const GridGeometry& geometry,
                         const std::vector<std::size_t>& sources, float limit,
                         const Progress& progress) {
    PathField field;
    field.cost.assign(cost_per_mm.size(), infinity);
    field.parent.assign(cost_per_mm.size(), PathField::none);
    std::priority_queue<Entry, std::vector<Entry>, std::greater<>> front;
    for (const std::size_t source : sources) {
        field.cost[source] = 0;
        front.push({0, static_cast<std::uint32_t>(source)});
    }
    const std::vector<Step> steps = neighbour_steps(geometry);
    const auto [nx, ny, nz] = geometry.size;
    while (!front.empty()) {
        const Entry entry = front.top();
        front.pop();
        if (entry.cost > field.cost[entry.voxel]) continue;
        if (field.order.size() % 8192 == 0 && progress.cancelled()) break;
        field.order.push_back(entry.voxel);
        const int i = static_cast<int>(entry.voxel % unsigned(nx));
        const int j = static_cast<int>(entry.voxel / unsigned(nx) % unsigned(ny));
        const int k = static_cast<int>(entry.voxel / (unsigned(nx) * unsigned(ny)));
        for (const Step& step : steps) {
            const bool within = unsigned(i + step.di) < unsigned(nx) &&
                                unsigned(j + step.dj) < unsigned(ny) &&
                                unsigned(k + step.dk) < unsigned(nz);
            if (!within) continue;
            const auto next = std::size_t(std::ptrdiff_t(entry.voxel) + step.offset);
            const float rate = cost_per_mm[next];
            if (rate == infinity) continue;
            const float here =
                std::min(cost_per_mm[entry.voxel], rate);  // a source may lie off the domain
            const float cost = entry.cost + step.half_length_mm * (here + rate);
            if (cost >= field.cost[next] || cost > limit) continue;
            field.cost[next] = cost;
            field.parent[next] = static_cast<std::int32_t>(entry.voxel);
            front.push({cost, static_cast<std::uint32_t>(next)});
        }
    }
    return field;
}

}  // namespace anfract::tracing
