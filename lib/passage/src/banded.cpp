#include "banded.h"

#include <algorithm>

namespace anfract {

void BandedMatrix::factorise() {
    const int size = static_cast<int>(columns_.size());
    for (int j = 0; j < size; ++j) {
        auto& column = columns_[j];
        const double pivot = column[0];
        const int last = std::min(half_band, size - 1 - j);
        for (int k = 1; k <= last; ++k) {
            const double factor = column[k] / pivot;
            auto& target = columns_[j + k];
            for (int i = k; i <= last; ++i) target[i - k] -= factor * column[i];
        }
        for (int k = 1; k <= last; ++k) column[k] /= pivot;
    }
}

void BandedMatrix::solve(std::vector<double>& right) const {
    const int size = static_cast<int>(columns_.size());
    for (int j = 0; j < size; ++j) {
        const int last = std::min(half_band, size - 1 - j);
        for (int k = 1; k <= last; ++k) right[j + k] -= columns_[j][k] * right[j];
    }
    for (int j = size - 1; j >= 0; --j) {
        right[j] /= columns_[j][0];
        const int last = std::min(half_band, size - 1 - j);
        for (int k = 1; k <= last; ++k) right[j] -= columns_[j][k] * right[j + k];
    }
}

}  // namespace anfract
