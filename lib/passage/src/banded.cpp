#include "banded.h"

#include <algorithm>

namespace anfract {

// Elimination goes from both ends at once: each step waits for the one before it, and two such
// chains take hardly longer than one. The loops have a fixed length, so that they are unrolled;
// only the few columns where the ends meet are shorter.
void BandedMatrix::eliminate_down(int j, int last) {
    Column& column = columns_[j];
    const double inverse = 1 / column[0];
    Column factor{};
    for (int k = 1; k <= last; ++k) factor[k] = column[k] * inverse;
    for (int k = 1; k <= last; ++k) {
        Column& target = columns_[j + k];
        for (int i = k; i <= last; ++i) target[i - k] -= factor[k] * column[i];
    }
    for (int k = 1; k <= last; ++k) column[k] = factor[k];
    column[0] = inverse;
}

void BandedMatrix::eliminate_up(int j) {
    const double inverse = 1 / columns_[j][0];
    Column row{}, factor{};
    for (int k = 1; k <= half_band; ++k) {
        row[k] = columns_[j - k][k];
        factor[k] = row[k] * inverse;
    }
    for (int k = 1; k <= half_band; ++k) {
        Column& target = columns_[j - k];
        for (int i = 1; i <= k; ++i) target[k - i] -= factor[i] * row[k];
        target[k] = factor[k];
    }
    columns_[j][0] = inverse;
}

void BandedMatrix::factorise() {
    const int size = static_cast<int>(columns_.size());
    int top = 0, end = size;  // what is left is from top to before end
    for (; end - top > 2 * half_band; ++top, --end) {
        eliminate_down(top, half_band);
        eliminate_up(end - 1);
    }
    first_inner_ = top;
    inner_end_ = end;
    for (; top < end; ++top) eliminate_down(top, std::min(half_band, end - 1 - top));
}

void BandedMatrix::solve(std::vector<double>& right) const {
    const int size = static_cast<int>(columns_.size());
    double* x = right.data();
    const Column* c = columns_.data();
    // Of several terms that one comes last whose unknown was found last, so that little waits for
    // it.
    const auto from_above = [x, c](int j, int most) {
        double sum = x[j];
        for (int k = most; k >= 1; --k) sum -= c[j - k][k] * x[j - k];
        x[j] = sum;
    };
    const auto from_below = [x, c](int j, int most) {
        double sum = x[j];
        for (int k = most; k >= 1; --k) sum -= c[j][k] * x[j + k];
        x[j] = sum;
    };
    const int few = std::min(half_band, first_inner_);
    for (int j = 0; j < few; ++j) {
        from_above(j, j);
        from_below(size - 1 - j, j);
    }
    for (int j = few; j < first_inner_; ++j) {
        from_above(j, half_band);
        from_below(size - 1 - j, half_band);
    }
    for (int j = first_inner_; j < inner_end_; ++j) {
        from_above(j, std::min(half_band, j));
        for (int k = inner_end_ - j; k <= half_band && j + k < size; ++k)
            x[j] -= c[j][k] * x[j + k];
    }
    for (int j = 0; j < size; ++j) x[j] *= c[j][0];
    for (int j = inner_end_ - 1; j >= first_inner_; --j) {
        from_below(j, std::min(half_band, inner_end_ - 1 - j));
    }
    for (int j = first_inner_ - 1, i = inner_end_; j >= 0; --j, ++i) {
        from_below(j, half_band);
        from_above(i, half_band);
    }
}

}  // namespace anfract
