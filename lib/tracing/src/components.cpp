#include "components.h"

#include <algorithm>

namespace anfract::tracing {
namespace {

/// Visits everything face-connected to the voxels on `stack`; `take(n)` says whether to go on and
/// marks it.
template <class Take>
void flood(const GridGeometry& geometry, std::vector<std::size_t>& stack, const Take& take) {
    const std::size_t nx = std::size_t(geometry.size[0]);
    const std::size_t ny = std::size_t(geometry.size[1]);
    const std::size_t nz = std::size_t(geometry.size[2]);
    const auto visit = [&](std::size_t n) {
        if (take(n)) stack.push_back(n);
    };
    while (!stack.empty()) {
        const std::size_t n = stack.back();
        stack.pop_back();
        const std::size_t i = n % nx;
        const std::size_t j = n / nx % ny;
        const std::size_t k = n / (nx * ny);
        if (i > 0) visit(n - 1);
        if (i + 1 < nx) visit(n + 1);
        if (j > 0) visit(n - nx);
        if (j + 1 < ny) visit(n + nx);
        if (k > 0) visit(n - nx * ny);
        if (k + 1 < nz) visit(n + nx * ny);
    }
}

}  // namespace

Components components(const Mask& mask, const GridGeometry& geometry) {
    Components result;
    result.label.assign(mask.size(), 0);
    std::vector<std::size_t> stack;
    for (std::size_t seed = 0; seed < mask.size(); ++seed) {
        if (mask[seed] == 0 || result.label[seed] != 0) continue;
        const int label = static_cast<int>(result.sizes.size()) + 1;
        std::size_t count = 1;
        result.label[seed] = label;
        stack.push_back(seed);
        flood(geometry, stack, [&](std::size_t n) {
            if (mask[n] == 0 || result.label[n] != 0) return false;
            result.label[n] = label;
            ++count;
            return true;
        });
        result.sizes.push_back(count);
    }
    return result;
}

int label_round(const std::vector<int>& label, int most, const GridGeometry& geometry,
                const Vec3& point_P, double radius_mm) {
    std::vector<std::size_t> near(std::size_t(most) + 1, 0);
    const Vec3 centre = geometry.to_voxel(point_P);
    const Vec3 reach = Vec3::Constant(radius_mm).cwiseQuotient(geometry.spacing_mm);
    const auto low = [&](int a) { return std::max(0, static_cast<int>(centre[a] - reach[a])); };
    const auto high = [&](int a) {
        return std::min(geometry.size[std::size_t(a)] - 1,
                        static_cast<int>(centre[a] + reach[a]) + 1);
    };
    for (int k = low(2); k <= high(2); ++k) {
        for (int j = low(1); j <= high(1); ++j) {
            for (int i = low(0); i <= high(0); ++i) {
                const Vec3 offset = (Vec3(i, j, k) - centre).cwiseProduct(geometry.spacing_mm);
                if (offset.squaredNorm() > radius_mm * radius_mm) continue;
                ++near[std::size_t(label[geometry.index(i, j, k)])];
            }
        }
    }
    near[0] = 0;
    const auto found = std::max_element(near.begin(), near.end());
    return *found == 0 ? 0 : static_cast<int>(found - near.begin());
}

Mask connected_to(const Mask& mask, const GridGeometry& geometry,
                  const std::vector<std::size_t>& seeds) {
    const std::size_t nx = std::size_t(geometry.size[0]),
                      slice = nx * std::size_t(geometry.size[1]);
    Mask result(mask.size(), 0);
    const auto takes = [&](std::size_t n) { return mask[n] != 0 && result[n] == 0; };
    std::vector<std::size_t> stack = seeds;
    // Run after run along the rows: of each run of a row beside one, its last voxel waits.
    const auto wait_beside = [&](std::size_t from, std::size_t to) {
        for (std::size_t n = from; n < to; ++n) {
            if (takes(n) && (n + 1 == to || !takes(n + 1))) stack.push_back(n);
        }
    };
    while (!stack.empty()) {
        std::size_t from = stack.back();
        stack.pop_back();
        if (!takes(from)) continue;
        const std::size_t row = from - from % nx;
        std::size_t to = from + 1;
        while (from > row && takes(from - 1)) --from;
        while (to < row + nx && takes(to)) ++to;
        std::fill(result.begin() + std::ptrdiff_t(from), result.begin() + std::ptrdiff_t(to), 1);
        if (row % slice >= nx) wait_beside(from - nx, to - nx);
        if (row % slice + nx < slice) wait_beside(from + nx, to + nx);
        if (row >= slice) wait_beside(from - slice, to - slice);
        if (row + slice < mask.size()) wait_beside(from + slice, to + slice);
    }
    return result;
}

Mask holes_filled(const Mask& mask, const GridGeometry& geometry) {
    const auto [nx, ny, nz] = geometry.size;
    Mask outside(mask.size());
    for (std::size_t n = 0; n < mask.size(); ++n) outside[n] = mask[n] == 0;
    std::vector<std::size_t> border;
    for (int k = 0; k < nz; ++k) {
        for (int j = 0; j < ny; ++j) {
            const bool edge = k == 0 || j == 0 || k == nz - 1 || j == ny - 1;
            for (int i = 0; i < nx; i += edge ? 1 : std::max(1, nx - 1)) {
                border.push_back(geometry.index(i, j, k));
            }
        }
    }
    const Mask open = connected_to(outside, geometry, border);
    Mask result(mask.size());
    for (std::size_t n = 0; n < mask.size(); ++n) result[n] = open[n] == 0;
    return result;
}

}  // namespace anfract::tracing
