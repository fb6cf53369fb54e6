#include "distance.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "anfract/base/parallel.h"
#include "components.h"

namespace anfract::tracing {
namespace {

constexpr float infinity = std::numeric_limits<float>::infinity();

/// Squared distances along a row of a mask, from voxel to voxel; infinite beyond `far2`.
void transform_row(const std::uint8_t* mask, int count, float spacing, float far2, float* out) {
    const float h2 = spacing * spacing;
    const auto fill = [&](int from, int to, bool left, bool right) {
        for (int p = from; p < to; ++p) {
            const int before = left ? p - from + 1 : count, after = right ? to - p : count;
            const auto steps = float(std::min(before, after));
            const float d2 = h2 * steps * steps;
            out[p] = (left || right) && d2 <= far2 ? d2 : infinity;
        }
    };
    for (int p = 0; p < count;) {
        int end = p;
        while (end < count && mask[end] == 0) ++end;
        fill(p, end, p > 0, end < count);
        for (p = end; p < count && mask[p] != 0; ++p) out[p] = 0;
    }
}

/// Squared distances along one more axis: `f` is replaced by min over q of (h (p - q))^2 + f(q).
class LineTransform {
  public:
    LineTransform(int count, float spacing, float far2)
        : h2_(spacing * spacing),
          far2_(far2),
          apex_(std::size_t(count)),
          height_(std::size_t(count)),
          from_(std::size_t(count)),
          value_(std::size_t(count)) {}

    void operator()(float* f, std::ptrdiff_t stride) {
        const int count = static_cast<int>(value_.size());
        bool any_near = false;
        for (int p = 0; p < count; ++p) {
            value_[std::size_t(p)] = f[p * stride];
            any_near = any_near || value_[std::size_t(p)] < infinity;
        }
        if (!any_near) return;
        // Between two zeros nothing beyond them is nearer than they are.
        for (int p = 0; p < count; ++p) {
            if (value_[std::size_t(p)] == 0) continue;
            int end = p;
            while (end < count && value_[std::size_t(end)] > 0) ++end;
            build(std::max(0, p - 1), std::min(count, end + 1));
            read(p, end, f, stride);
            p = end;
        }
    }

  private:
    /// The lower envelope of the parabolas over [begin, end).
    void build(int begin, int end) {
        last_ = -1;
        for (int q = begin; q < end; ++q) {
            if (value_[std::size_t(q)] == infinity) continue;
            const float height = value_[std::size_t(q)] / h2_ + float(q) * float(q);
            float start = -infinity;
            while (last_ >= 0) {
                const auto top = std::size_t(last_);
                start = (height - height_[top]) / (2 * float(q - apex_[top]));
                if (start > from_[top]) break;
                --last_;
            }
            if (last_ < 0) start = -infinity;
            ++last_;
            apex_[std::size_t(last_)] = q;
            height_[std::size_t(last_)] = height;
            from_[std::size_t(last_)] = start;
        }
    }

    void read(int begin, int end, float* f, std::ptrdiff_t stride) const {
        if (last_ < 0) return;
        int piece = 0;
        for (int p = begin; p < end; ++p) {
            while (piece < last_ && from_[std::size_t(piece) + 1] < float(p)) ++piece;
            const int q = apex_[std::size_t(piece)];
            const float d2 = h2_ * float(p - q) * float(p - q) + value_[std::size_t(q)];
            f[p * stride] = d2 <= far2_ ? d2 : infinity;
        }
    }

    float h2_, far2_;
    std::vector<int> apex_;
    std::vector<float> height_, from_, value_;
    int last_ = -1;
};

/// The same for all columns of a sheet at once, where only few rows each way are near enough to
/// count: every one of them is looked at, which goes along the rows.
class SheetTransform {
  public:
    /// Rows each way above which the envelope is quicker.
    static constexpr int most_reach = 10;

    SheetTransform(int rows, int count, float spacing, float far2)
        : rows_(rows),
          count_(std::size_t(count)),
          far2_(far2),
          value_(std::size_t(rows) * count_),
          near_(std::size_t(rows)) {
        const float h2 = spacing * spacing;
        for (int t = 0; h2 * float(t) * float(t) <= far2; ++t)
            step2_.push_back(h2 * float(t) * float(t));
    }

    /// Rows lie `stride` apart.
    void operator()(float* first, std::ptrdiff_t stride) {
        for (int r = 0; r < rows_; ++r) {
            const float* row = first + r * stride;
            std::copy_n(row, count_, value_.begin() + std::ptrdiff_t(std::size_t(r) * count_));
            near_[std::size_t(r)] =
                std::any_of(row, row + count_, [](float v) { return v < infinity; });
        }
        const int reach = static_cast<int>(step2_.size()) - 1;
        for (int r = 0; r < rows_; ++r) {
            float* row = first + r * stride;
            for (int q = std::max(0, r - reach); q <= std::min(rows_ - 1, r + reach); ++q) {
                if (near_[std::size_t(q)])
                    take(value_.data() + std::size_t(q) * count_, std::abs(r - q), row);
            }
            for (std::size_t i = 0; i < count_; ++i) row[i] = row[i] <= far2_ ? row[i] : infinity;
        }
    }

  private:
    void take(const float* from, int steps, float* row) const {
        const float step2 = step2_[std::size_t(steps)];
        for (std::size_t i = 0; i < count_; ++i) {
            const float d2 = step2 + from[i];
            row[i] = d2 < row[i] ? d2 : row[i];
        }
    }

    int rows_;
    std::size_t count_;
    float far2_;
    std::vector<float> value_;  ///< before
    std::vector<bool> near_;    ///< rows that hold anything finite
    std::vector<float> step2_;  ///< squared distance of so many rows
};

/// Where distances need not be told apart any more, when only those up to a radius count.
double beyond(double radius_mm) { return radius_mm + 0.01; }

}  // namespace

std::vector<float> distance_to(const Mask& mask, const GridGeometry& geometry, unsigned threads,
                               double far_mm) {
    const auto [nx, ny, nz] = geometry.size;
    const std::ptrdiff_t slice = std::ptrdiff_t(nx) * ny;
    const auto far = static_cast<float>(far_mm);
    const float far2 = far * far;
    std::vector<float> squared(mask.size());
    const auto spacing = [&](int axis) { return static_cast<float>(geometry.spacing_mm[axis]); };
    const bool by_rows = far_mm <= SheetTransform::most_reach * geometry.spacing_mm.minCoeff();
    parallel_for(std::size_t(nz), threads, [&](std::size_t begin, std::size_t end) {
        LineTransform column(ny, spacing(1), far2);
        SheetTransform sheet(by_rows ? ny : 0, nx, spacing(1), by_rows ? far2 : 0);
        for (std::size_t k = begin; k < end; ++k) {
            float* plane = squared.data() + std::ptrdiff_t(k) * slice;
            const std::uint8_t* row = mask.data() + std::ptrdiff_t(k) * slice;
            for (std::ptrdiff_t j = 0; j < ny; ++j)
                transform_row(row + j * nx, nx, spacing(0), far2, plane + j * nx);
            if (by_rows) {
                sheet(plane, nx);
                continue;
            }
            for (int i = 0; i < nx; ++i) column(plane + i, nx);
        }
    });
    parallel_for(std::size_t(ny), threads, [&](std::size_t begin, std::size_t end) {
        LineTransform column(nz, spacing(2), far2);
        SheetTransform sheet(by_rows ? nz : 0, nx, spacing(2), by_rows ? far2 : 0);
        for (std::size_t j = begin; j < end; ++j) {
            float* first = squared.data() + std::ptrdiff_t(j) * nx;
            if (by_rows) {
                sheet(first, slice);
            } else {
                for (int i = 0; i < nx; ++i) column(first + i, slice);
            }
            for (int k = 0; k < nz; ++k) {
                float* row = first + k * slice;
                for (int i = 0; i < nx; ++i) row[i] = std::min(std::sqrt(row[i]), far);
            }
        }
    });
    return squared;
}

Mask eroded(const Mask& mask, const GridGeometry& geometry, double radius_mm, unsigned threads) {
    Mask outside(mask.size());
    for (std::size_t n = 0; n < mask.size(); ++n) outside[n] = mask[n] == 0;
    const std::vector<float> depth = distance_to(outside, geometry, threads, beyond(radius_mm));
    Mask result(mask.size());
    for (std::size_t n = 0; n < mask.size(); ++n)
        result[n] = depth[n] > static_cast<float>(radius_mm);
    return result;
}

Mask dilated(const Mask& mask, const GridGeometry& geometry, double radius_mm, unsigned threads) {
    const std::vector<float> distance = distance_to(mask, geometry, threads, beyond(radius_mm));
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
