#include "anfract/scan/convolve.h"

#include <algorithm>

#include "anfract/base/parallel.h"

namespace anfract {
namespace {

/// out[x] = sum over t of weights[t] * rows[t][x]. A few neighbours at a time stay in registers.
void weighted_sum(const std::vector<const float*>& rows, const std::vector<float>& weights,
                  int count, float* out) {
    constexpr int together = 16;
    int x = 0;
    for (; x + together <= count; x += together) {
        std::array<float, together> sum{};
        for (std::size_t t = 0; t < weights.size(); ++t) {
            const float* in = rows[t] + x;
            for (std::size_t b = 0; b < together; ++b) sum[b] += weights[t] * in[b];
        }
        std::copy(sum.begin(), sum.end(), out + x);
    }
    for (; x < count; ++x) {
        float sum = 0;
        for (std::size_t t = 0; t < weights.size(); ++t) sum += weights[t] * rows[t][x];
        out[x] = sum;
    }
}

/// One axis of a convolution; holds what is used for row after row.
class Convolver {
  public:
    explicit Convolver(const std::vector<float>& weights)
        : weights_(weights), reach_(static_cast<int>(weights.size() / 2)), rows_(weights.size()) {}

    /// Along the row itself.
    void along(const float* row, int count, float* out) {
        padded_.resize(std::size_t(count + 2 * reach_));
        std::fill_n(padded_.begin(), reach_, row[0]);
        std::copy_n(row, count, padded_.begin() + reach_);
        std::fill_n(padded_.begin() + reach_ + count, reach_, row[count - 1]);
        for (std::size_t t = 0; t < rows_.size(); ++t) rows_[t] = padded_.data() + t;
        weighted_sum(rows_, weights_, count, out);
    }
    /// Across `rows` rows that lie `stride` apart from `first` on, at the one at `position`.
    void across(const float* first, std::size_t stride, int rows, int position, int count,
                float* out) {
        for (int t = -reach_; t <= reach_; ++t) {
            rows_[std::size_t(t + reach_)] =
                first + std::size_t(std::clamp(position + t, 0, rows - 1)) * stride;
        }
        weighted_sum(rows_, weights_, count, out);
    }

  private:
    const std::vector<float>& weights_;
    int reach_;
    std::vector<const float*> rows_;
    std::vector<float> padded_;
};

}  // namespace

Brick convolved(const Brick& brick, const std::array<std::vector<float>, 3>& weights,
                unsigned threads) {
    const auto [nx, ny, nz] = brick.geometry.size;
    const std::size_t row = std::size_t(nx), slice = row * std::size_t(ny);
    std::vector<float> in_plane(brick.grey.size());
    parallel_for(std::size_t(nz), threads, [&](std::size_t begin, std::size_t end) {
        Convolver x(weights[0]), y(weights[1]);
        std::vector<float> rows(slice);
        for (std::size_t k = begin; k < end; ++k) {
            for (std::size_t j = 0; j < std::size_t(ny); ++j)
                x.along(&brick.grey[k * slice + j * row], nx, &rows[j * row]);
            for (int j = 0; j < ny; ++j) {
                y.across(rows.data(), row, ny, j, nx, &in_plane[k * slice + std::size_t(j) * row]);
            }
        }
    });
    Brick result{brick.geometry, std::vector<float>(brick.grey.size())};
    // Row by row through all slices: what is read again and again then stays in the cache.
    parallel_for(std::size_t(ny), threads, [&](std::size_t begin, std::size_t end) {
        Convolver z(weights[2]);
        for (std::size_t j = begin; j < end; ++j) {
            for (int k = 0; k < nz; ++k) {
                z.across(&in_plane[j * row], slice, nz, k, nx,
                         &result.grey[std::size_t(k) * slice + j * row]);
            }
        }
    });
    return result;
}

}  // namespace anfract
