#include "round_wall.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstdint>

#include "guide.h"
#include "side_kernels.h"

namespace anfract {

namespace {

double filter_for(int sides) { return 1 / (6 + 2 * even_directions(sides)(1, 0)); }  // (1, 0): cos

}  // namespace

RoundWall::RoundWall(int sides)
    : sides_(sides), filter_(filter_for(sides)), direction_(even_directions(sides) * 8 * filter_) {}

Eigen::ArrayXXd RoundWall::control(const Eigen::ArrayXXd& gap_mm) const {
    Eigen::ArrayXXd control(gap_mm.rows(), gap_mm.cols());
    const Eigen::Index last = sides_ - 1;
    control.middleRows(1, last - 1) =
        (1 + 2 * filter_) * gap_mm.middleRows(1, last - 1) -
        filter_ * (gap_mm.topRows(last - 1) + gap_mm.bottomRows(last - 1));
    control.row(0) =
        (1 + 2 * filter_) * gap_mm.row(0) - filter_ * (gap_mm.row(last) + gap_mm.row(1));
    control.row(last) =
        (1 + 2 * filter_) * gap_mm.row(last) - filter_ * (gap_mm.row(last - 1) + gap_mm.row(0));
    return control;
}

Eigen::Array<double, side_count, 1> RoundWall::clear_beyond(
    Eigen::Array<double, side_count, 1> gap_mm) {
    // The curve lies above its control values, (1 + 2 f) g_j - f (g_j-1 + g_j+1).
    constexpr int most_sweeps = 8;
    constexpr double close_mm = 1e-6;
    static const double filter = filter_for(side_count);
    const double share = filter / (1 + 2 * filter);
    for (int sweep = 0; sweep < most_sweeps; ++sweep) {
        double raised = 0;
        for (int j = 0; j < side_count; ++j) {
            const double beside =
                gap_mm[j == 0 ? side_count - 1 : j - 1] + gap_mm[j + 1 == side_count ? 0 : j + 1];
            raised = std::max(raised, share * beside - gap_mm[j]);
            gap_mm[j] = std::max(gap_mm[j], share * beside);
        }
        if (raised < close_mm) break;
    }
    return gap_mm;
}

int RoundWall::contacts(const double* control_mm, const Vec2& seen, Contact* found) const {
    std::array<double, side_count> value;
    // A spline never rises above its control values.
    std::uint64_t beyond = sides_beyond(control_mm, sides_, &direction_(0, 0), &direction_(0, 1),
                                        seen.x(), seen.y(), value.data());
    int count = 0;
    for (; beyond != 0 && count < most_contacts; beyond &= beyond - 1) {
        const int j = std::countr_zero(beyond);
        const int low = j == 0 ? sides_ - 1 : j - 1, high = j + 1 == sides_ ? 0 : j + 1;
        // The spline has its maximum beside the control value that is above its neighbours.
        const double rise = value[j] - value[low], fall = value[j] - value[high];
        if (rise <= 0 || fall < 0) continue;
        const double bend = rise + fall;  // minus the second derivative
        const double beside = (rise - fall) / 2 / bend;
        const Eigen::Array3d share = shares(beside);
        const double depth = share[0] * value[low] + share[1] * value[j] + share[2] * value[high];
        if (depth <= 0) continue;
        const auto side = [&](int k) { return Vec2(direction_(k, 0), direction_(k, 1)); };
        const Vec2 along =
            (beside - 0.5) * side(low) - 2 * beside * side(j) + (beside + 0.5) * side(high);
        found[count++] = {j, beside, depth,
                          share[0] * side(low) + share[1] * side(j) + share[2] * side(high),
                          1 / bend * along * along.transpose()};
    }
    return count;
}

}  // namespace anfract
