#include "banded.h"

#include <algorithm>

namespace anfract {

// The loops over whole columns have a fixed length, so that they are unrolled; the last few columns
// are shorter.
void BandedMatrix::factorise() {
    const int size = static_cast<int>(columns_.size());
    const auto eliminate = [this](int j, int last) {
        Column& column = columns_[j];
        const double inverse = 1 / column[0];
        Column factor{};
        for (int k = 1; k <= last; ++k) factor[k] = column[k] * inverse;
        for (int k = 1; k <= last; ++k) {
            Column& target = columns_[j + k];
            for (int i = k; i <= last; ++i) target[i - k] -= factor[k] * column[i];
        }
        for (int k = 1; k <= last; ++k) column[k] = factor[k];
    };
    int j = 0;
    for (; j + half_band < size; ++j) eliminate(j, half_band);
    for (; j < size; ++j) eliminate(j, size - 1 - j);
}

void BandedMatrix::solve(std::vector<double>& right) const {
    const int size = static_cast<int>(columns_.size());
    const int whole = std::max(size - half_band, 0);
    double* x = right.data();
    for (int j = 0; j < whole; ++j) {
        for (int k = 1; k <= half_band; ++k) x[j + k] -= columns_[j][k] * x[j];
    }
    for (int j = whole; j < size; ++j) {
        for (int k = 1; j + k < size; ++k) x[j + k] -= columns_[j][k] * x[j];
    }
    for (int j = 0; j < size; ++j) x[j] /= columns_[j][0];
    for (int j = size - 1; j >= whole; --j) {
        for (int k = 1; j + k < size; ++k) x[j] -= columns_[j][k] * x[j + k];
    }
    for (int j = whole - 1; j >= 0; --j) {
        // The value found last comes last, so that little waits for it.
        double sum = x[j];
        for (int k = half_band; k >= 1; --k) sum -= columns_[j][k] * x[j + k];
        x[j] = sum;
    }
}

}  // namespace anfract
