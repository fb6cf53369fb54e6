#pragma once

#include <array>
#include <vector>

namespace anfract {

/// A symmetric positive definite matrix with half bandwidth 5, and its factors in place.
/// Five is what two offsets at a node, coupled over two nodes to either side, need.
class BandedMatrix {
  public:
    static constexpr int half_band = 5;

    /// Entries of a column from the diagonal down.
    using Column = std::array<double, half_band + 1>;

    explicit BandedMatrix(int size) : columns_(size, Column{}) {}

    /// Entry (row, column) of the lower triangle, 0 <= row - column <= half_band.
    double& at(int row, int column) { return columns_[column][row - column]; }

    Column& column(int index) { return columns_[index]; }

    /// Into triangles from both ends to the middle, and inverses on the diagonal.
    void factorise();
    /// Overwrites `right` with the solution. @pre factorise() was called
    void solve(std::vector<double>& right) const;

  private:
    void eliminate_down(int j, int last);
    void eliminate_up(int j);

    std::vector<Column> columns_;
    int first_inner_ = 0, inner_end_ = 0;  // what was eliminated from the top alone, at the end
};

}  // namespace anfract
