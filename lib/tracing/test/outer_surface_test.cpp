#include "outer_surface.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

#include "closed_surface.h"
#include "synthetic.h"

namespace anfract::tracing {
namespace {

double total(const Columns& columns, const std::vector<int>& surface) {
    double sum = 0;
    for (std::size_t n = 0; n < surface.size(); ++n)
        sum += double(columns.cost[n * std::size_t(columns.places) + std::size_t(surface[n])]);
    return sum;
}

bool smooth_enough(const Columns& columns, const std::vector<int>& surface) {
    return std::all_of(columns.neighbours.begin(), columns.neighbours.end(), [&](const auto& pair) {
        return std::abs(surface[std::size_t(pair[0])] - surface[std::size_t(pair[1])]) <=
               columns.most_step;
    });
}

// Against every surface there is: six columns round a ring of five places each.
TEST(CheapestSurface, IsTheCheapestOfAll) {
    std::mt19937 random(7);
    for (int round = 0; round < 20; ++round) {
        Columns columns;
        columns.places = 5;
        columns.most_step = 1 + round % 2;
        for (int n = 0; n < 30; ++n) columns.cost.push_back(float(random() % 1000));
        for (int n = 0; n < 6; ++n) columns.neighbours.push_back({n, (n + 1) % 6});
        double least = 1e9;
        for (int code = 0; code < 15625; ++code) {
            std::vector<int> surface;
            for (int n = 0, rest = code; n < 6; ++n, rest /= 5) surface.push_back(rest % 5);
            if (smooth_enough(columns, surface)) least = std::min(least, total(columns, surface));
        }
        const std::vector<int> found = cheapest_surface(columns);
        EXPECT_TRUE(smooth_enough(columns, found));
        EXPECT_NEAR(total(columns, found), least, 0.01);
    }
}

/// A ball of dentine in its ligament, with bone as bright as dentine beyond that on one side and
/// soft tissue on the other.
class BallInBone : public testing::Test {
  protected:
    static constexpr double radius_mm = 3, ligament_mm = 0.2, sigma_mm = 0.19;
    static constexpr double sure_radius_mm = 2.8;
    const GridGeometry g_ = synthetic::grid(60, 60, 60, 0.125);
    const Vec3 middle_ = g_.to_patient(Vec3(29.5, 29.5, 29.5));
    const Brick brick_ = synthetic::body_in_dentine(
        g_,
        [this](const Vec3& p) {
            const double r = (p - middle_).norm();
            return r > radius_mm && (r < radius_mm + ligament_mm || p.z() > middle_.z());
        },
        sigma_mm);
    GreyLevels levels_;

    void SetUp() override {
        levels_.pulp = synthetic::pulp;
        levels_.dentine = synthetic::dentine;
        levels_.sigma_psf_mm = sigma_mm;
    }
    Mask ball(double within_mm) const {
        Mask mask(g_.voxel_count());
        for (int k = 0; k < g_.size[2]; ++k) {
            for (int j = 0; j < g_.size[1]; ++j) {
                for (int i = 0; i < g_.size[0]; ++i)
                    mask[g_.index(i, j, k)] =
                        (g_.to_patient(Vec3(i, j, k)) - middle_).norm() < within_mm;
            }
        }
        return mask;
    }
    Brick outer() const { return outer_surface(brick_, ball(sure_radius_mm), levels_, 1.3, 2); }
};

// The ligament is nowhere as dark as half the contrast (Phi(0.2 / 2 sigma) - Phi(-0.2 / 2 sigma) =
// 0.40 of it), so that a threshold there takes the bone along.
TEST_F(BallInBone, IsToldFromBoneThroughALigamentTooBlurredForAThreshold) {
    const float darkest = interpolate(brick_, g_.to_voxel(middle_ - Vec3(0, 0, radius_mm + 0.1)));
    ASSERT_GT(darkest, levels_.middle());
    const Brick found = outer();
    for (const double polar_deg : {0.0, 30.0, 60.0, 120.0, 150.0, 180.0}) {
        for (const double round_deg : {0.0, 100.0, 220.0}) {
            const double a = polar_deg * 0.0174532925, b = round_deg * 0.0174532925;
            const Vec3 out(std::sin(a) * std::cos(b), std::sin(a) * std::sin(b), std::cos(a));
            const Vec3 at = middle_ + radius_mm * out;
            EXPECT_NEAR(interpolate(found, found.geometry.to_voxel(at)), 0, 0.06)
                << polar_deg << " " << round_deg;
        }
    }
}

TEST_F(BallInBone, LosesWhatLeaksAndNothingElse) {
    const Brick found = outer();
    const Mask all(g_.voxel_count(), 1);
    const Mask kept = without_leaks(all, g_, found, 2);
    const Mask most = ball(radius_mm + 0.3), least = ball(radius_mm - 0.1);
    for (std::size_t n = 0; n < kept.size(); ++n) {
        ASSERT_LE(kept[n], most[n]);
        ASSERT_GE(kept[n], least[n]);
    }
    EXPECT_EQ(without_leaks(most, g_, found, 2), most);
}

}  // namespace
}  // namespace anfract::tracing
