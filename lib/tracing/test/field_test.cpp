#include "field.h"

#include <gtest/gtest.h>

#include <Eigen/Eigenvalues>
#include <random>

#include "synthetic.h"

namespace anfract::tracing {
namespace {

TEST(Smooth, AddsItsVarianceAndKeepsTheSum) {
    Brick brick{synthetic::grid(41, 41, 41, 0.1), {}};
    brick.grey.assign(brick.geometry.voxel_count(), 0.0F);
    brick.at(20, 20, 20) = 1000;
    const double sigma = 0.18;
    const Brick result = smooth(brick, sigma, 2);
    double sum = 0, second = 0;
    for (int k = 0; k < 41; ++k) {
        for (int j = 0; j < 41; ++j) {
            for (int i = 0; i < 41; ++i) {
                sum += result.at(i, j, k);
                second += result.at(i, j, k) * 0.01 * (i - 20) * (i - 20);
            }
        }
    }
    EXPECT_NEAR(sum, 1000, 0.01);
    // Voxel-mean weights carry the voxel's own variance h^2/12 too; the cut at 3.5 sigma takes 0.6
    // %.
    EXPECT_NEAR(second / sum, sigma * sigma + 0.01 / 12, 0.01 * sigma * sigma);
}

TEST(Smooth, GivesTheSameWithOneAndTwoThreads) {
    Brick brick{synthetic::grid(17, 13, 11, 0.2), {}};
    std::mt19937 random(7);
    for (std::size_t n = 0; n < brick.geometry.voxel_count(); ++n) {
        brick.grey.push_back(float(random() % 1000));
    }
    EXPECT_EQ(smooth(brick, 0.3, 1).grey, smooth(brick, 0.3, 2).grey);
}

TEST(Eigenvalues, AgreeWithALinearAlgebraLibrary) {
    std::mt19937 random(3);
    std::uniform_real_distribution<float> entry(-5, 5);
    for (int round = 0; round < 200; ++round) {
        const Symmetric3 m{entry(random), entry(random), entry(random),
                           entry(random), entry(random), entry(random)};
        Mat3 full;
        full << m.xx, m.xy, m.xz, m.xy, m.yy, m.yz, m.xz, m.yz, m.zz;
        const Vec3 expected = Eigen::SelfAdjointEigenSolver<Mat3>(full).eigenvalues();
        float found[3];
        eigenvalues(m, found);
        for (int a = 0; a < 3; ++a) EXPECT_NEAR(found[a], expected[a], 2e-4);  // single precision
    }
}

TEST(Hessian, IsExactOnAQuadratic) {
    Brick brick{synthetic::grid(3, 3, 3, 0.5), std::vector<float>(27)};
    for (int k = 0; k < 3; ++k) {
        for (int j = 0; j < 3; ++j) {
            for (int i = 0; i < 3; ++i) {
                const Vec3 p = Vec3(i, j, k) * 0.5;
                brick.at(i, j, k) = float(2 * p.x() * p.x() + 3 * p.x() * p.y() - p.y() * p.z());
            }
        }
    }
    const Symmetric3 h = hessian(brick, 1, 1, 1);
    EXPECT_NEAR(h.xx, 4, 1e-4);
    EXPECT_NEAR(h.yy, 0, 1e-4);
    EXPECT_NEAR(h.xy, 3, 1e-4);
    EXPECT_NEAR(h.yz, -1, 1e-4);
    EXPECT_NEAR(h.xz, 0, 1e-4);
}

}  // namespace
}  // namespace anfract::tracing
