#include "distance.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "anfract/base/parallel.h"
#include "components.h"

namespace anfract::tracing {
namespace {

/// Scratch of one line: the parabolas of the lower envelope and where each takes over.
struct Envelope {
    std::vector<int> apex;
    std::vector<float> from;
    std::vector<float> value;

    explicit Envelope(int count)
        : apex(std::size_t(count)), from(std::size_t(count) + 1), value(std::size_t(count)) {}
};

/// One dimension of the transform: squared distances `f` are replaced by min over q of (h (p -
/// q))^2 + f(q).
void transform_line(float* f, int count, std::ptrdiff_t stride, float spacing, Envelope& e) {
    constexpr float infinity = std::numeric_limits<float>::infinity();
    const float h2 = spacing * spacing;
    int last = -1;
    for (int q = 0; q < count; ++q) {
        e.value[std::size_t(q)] = f[q * stride];
        if (e.value[std::size_t(q)] == infinity) continue;
        const auto height = [&](int p) {
            return e.value[std::size_t(p)] / h2 + float(p) * float(p);
        };
        float start = -infinity;
        while (last >= 0) {
            const int p = e.apex[std::size_t(last)];
            start = (height(q) - height(p)) / (2 * float(q - p));
            if (start > e.from[std::size_t(last)]) break;
            --last;
        }
        if (last < 0) start = -infinity;
        ++last;
        e.apex[std::size_t(last)] = q;
        e.from[std::size_t(last)] = start;
    }
    if (last < 0) return;
    int piece = 0;
    for (int p = 0; p < count; ++p) {
        while (piece < last && e.from[std::size_t(piece) + 1] < float(p)) ++piece;
        const int q = e.apex[std::size_t(piece)];
        f[p * stride] = h2 * float(p - q) * float(p - q) + e.value[std::size_t(q)];
    }
}

}  // namespace

std::vector<float> distance_to(const Mask& mask, const GridGeometry& geometry, unsigned threads,
                               double far_mm) {
    const auto [nx, ny, nz] = geometry.size;
    const std::ptrdiff_t slice = std::ptrdiff_t(nx) * ny;
    std::vector<float> squared(mask.size());
    for (std::size_t n = 0; n < mask.size(); ++n) {
        squared[n] = mask[n] != 0 ? 0.0F : std::numeric_limits<float>::infinity();
    }
    const auto spacing = [&](int axis) { return static_cast<float>(geometry.spacing_mm[axis]); };
    parallel_for(std::size_t(nz), threads, [&](std::size_t begin, std::size_t end) {
        Envelope envelope(std::max(nx, ny));
        for (std::size_t k = begin; k < end; ++k) {
            float* plane = squared.data() + std::ptrdiff_t(k) * slice;
            for (int j = 0; j < ny; ++j) {
                transform_line(plane + std::ptrdiff_t(j) * nx, nx, 1, spacing(0), envelope);
            }
            for (int i = 0; i < nx; ++i) transform_line(plane + i, ny, nx, spacing(1), envelope);
        }
    });
    parallel_for(std::size_t(ny), threads, [&](std::size_t begin, std::size_t end) {
        Envelope envelope(nz);
        for (std::size_t j = begin; j < end; ++j) {
            for (int i = 0; i < nx; ++i) {
                transform_line(squared.data() + std::ptrdiff_t(j) * nx + i, nz, slice, spacing(2),
                               envelope);
            }
        }
    });
    const auto far = static_cast<float>(far_mm);
    for (float& d : squared) d = std::min(std::sqrt(d), far);
    return squared;
}

Mask eroded(const Mask& mask, const GridGeometry& geometry, double radius_mm, unsigned threads) {
    Mask outside(mask.size());
    for (std::size_t n = 0; n < mask.size(); ++n) outside[n] = mask[n] == 0;
    const std::vector<float> depth = distance_to(outside, geometry, threads);
    Mask result(mask.size());
    for (std::size_t n = 0; n < mask.size(); ++n)
        result[n] = depth[n] > static_cast<float>(radius_mm);
    return result;
}

Mask dilated(const Mask& mask, const GridGeometry& geometry, double radius_mm, unsigned threads) {
    const std::vector<float> distance = distance_to(mask, geometry, threads);
    Mask result(mask.size());
    for (std::size_t n = 0; n < mask.size(); ++n) {
        result[n] = distance[n] <= static_cast<float>(radius_mm);
    }
    return result;
}

Mask closed_over(const Mask& mask, const GridGeometry& geometry, double radius_mm,
                 unsigned threads) {
    const Mask wide = dilated(mask, geometry, radius_mm, threads);
    Mask closed = eroded(holes_filled(wide, geometry), geometry, radius_mm, threads);
    for (std::size_t n = 0; n < mask.size(); ++n) closed[n] |= mask[n];
    return closed;
}

}  // namespace anfract::tracing
