#pragma once

#include <vector>

namespace anfract {

/// A 2 x 2 block, rows of one node by columns of another.
struct Block {
    double xx, xy, yx, yy;
};

/// A symmetric positive definite matrix of two unknowns a node, each node coupled to the two on
/// either side, and its factors in place. Two unknowns are eliminated at once: each step waits for
/// the one before it, above all for its division.
class BandedMatrix {
  public:
    /// Blocks of a node's columns, from the diagonal down.
    struct Node {
        Block own;    ///< symmetric; yx is not read
        Block next;   ///< rows of the node after it
        Block after;  ///< rows of the one after that
    };

    explicit BandedMatrix(int nodes) : nodes_(nodes, Node{}) {}

    Node& node(int index) { return nodes_[index]; }

    /// Into triangles from both ends to the middle, and inverses on the diagonal.
    void factorise();
    /// Overwrites `right`, x and y node after node, with the solution. @pre factorise() was called
    void solve(std::vector<double>& right) const;

  private:
    void eliminate_down(int j);
    void eliminate_up(int j);
    void eliminate_inner();

    std::vector<Node> nodes_;
    int first_inner_ = 0, inner_end_ = 0;  // what was eliminated from the top alone, at the end
};

}  // namespace anfract
