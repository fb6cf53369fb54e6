#pragma once

#include <Eigen/Core>

#include "banded.h"

namespace anfract {

/// All entries of a matrix that is not yet factorised.
inline Eigen::MatrixXd dense(BandedMatrix& banded, int nodes) {
    Eigen::MatrixXd all = Eigen::MatrixXd::Zero(2 * nodes, 2 * nodes);
    const auto set = [&](int row, int column, const Block& block) {
        Eigen::Matrix2d entries;
        entries << block.xx, block.xy, block.yx, block.yy;
        all.block<2, 2>(2 * row, 2 * column) = entries;
        all.block<2, 2>(2 * column, 2 * row) = entries.transpose();
    };
    for (int i = 0; i < nodes; ++i) {
        Block own = banded.node(i).own;
        own.yx = own.xy;
        set(i, i, own);
        if (i + 1 < nodes) set(i + 1, i, banded.node(i).next);
        if (i + 2 < nodes) set(i + 2, i, banded.node(i).after);
    }
    return all;
}

}  // namespace anfract
