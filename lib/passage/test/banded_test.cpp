#include "banded.h"

#include <gtest/gtest.h>

#include <Eigen/Cholesky>
#include <random>

#include "dense.h"

namespace anfract {
namespace {

// Eigen's dense Cholesky factors of the same matrix.
TEST(Banded, SolvesAsADenseFactorisationDoes) {
    std::mt19937 random(7);
    std::uniform_real_distribution<double> entry(-1, 1);
    const auto block = [&] {
        return Block{entry(random), entry(random), entry(random), entry(random)};
    };
    for (int nodes = 1; nodes < 14; ++nodes) {
        BandedMatrix banded(nodes);
        std::vector<double> right(2 * nodes);
        for (int i = 0; i < nodes; ++i) {
            BandedMatrix::Node& node = banded.node(i);
            node = {block(), block(), block()};
            // Beyond the sums of the other entries of a row, at most 9: positive definite.
            node.own.xx += 10;
            node.own.yy += 10;
            right[2 * i] = entry(random);
            right[2 * i + 1] = entry(random);
        }
        const Eigen::Map<Eigen::VectorXd> solution(right.data(), 2 * nodes);
        const Eigen::VectorXd expected = dense(banded, nodes).llt().solve(solution);
        banded.factorise();
        banded.solve(right);
        EXPECT_LT((solution - expected).cwiseAbs().maxCoeff(), 1e-14) << nodes;
    }
}

}  // namespace
}  // namespace anfract
