#include "banded.h"

namespace anfract {
namespace {

/// Of a symmetric block.
Block inverse(const Block& d) {
    const double scale = 1 / (d.xx * d.yy - d.xy * d.xy);
    return {d.yy * scale, -d.xy * scale, -d.xy * scale, d.xx * scale};
}

Block transposed(const Block& a) { return {a.xx, a.yx, a.xy, a.yy}; }

Block product(const Block& a, const Block& b) {
    return {a.xx * b.xx + a.xy * b.yx, a.xx * b.xy + a.xy * b.yy, a.yx * b.xx + a.yy * b.yx,
            a.yx * b.xy + a.yy * b.yy};
}

void subtract(Block& a, const Block& b) {
    a.xx -= b.xx;
    a.xy -= b.xy;
    a.yx -= b.yx;
    a.yy -= b.yy;
}

struct Pair {
    double x, y;
};

/// What of a right side is found, read and written node by node.
struct Pairs {
    double* value;

    Pair operator[](int j) const { return {value[2 * j], value[2 * j + 1]}; }
    /// Subtracts from node j.
    void subtract(int j, const Block& a, const Pair& p) const {
        value[2 * j] = value[2 * j] - a.xx * p.x - a.xy * p.y;
        value[2 * j + 1] = value[2 * j + 1] - a.yx * p.x - a.yy * p.y;
    }
};

}  // namespace

void BandedMatrix::eliminate_down(int j) {
    Node &here = nodes_[j], &next = nodes_[j + 1], &after = nodes_[j + 2];
    here.own = inverse(here.own);
    const Block one = product(here.next, here.own), two = product(here.after, here.own);
    subtract(next.own, product(one, transposed(here.next)));
    subtract(next.next, product(two, transposed(here.next)));
    subtract(after.own, product(two, transposed(here.after)));
    here.next = one;
    here.after = two;
}

void BandedMatrix::eliminate_up(int j) {
    Node &here = nodes_[j], &next = nodes_[j - 1], &after = nodes_[j - 2];
    here.own = inverse(here.own);
    const Block one = product(transposed(next.next), here.own);
    const Block two = product(transposed(after.after), here.own);
    subtract(next.own, product(one, next.next));
    subtract(after.next, product(one, after.after));
    subtract(after.own, product(two, after.after));
    next.next = one;
    after.after = two;
}

/// The few nodes where the ends meet.
void BandedMatrix::eliminate_inner() {
    for (int j = first_inner_; j < inner_end_; ++j) {
        if (j + 2 < inner_end_) {
            eliminate_down(j);
            continue;
        }
        Node& here = nodes_[j];
        here.own = inverse(here.own);
        if (j + 1 == inner_end_) continue;
        const Block one = product(here.next, here.own);
        subtract(nodes_[j + 1].own, product(one, transposed(here.next)));
        here.next = one;
    }
}

void BandedMatrix::factorise() {
    constexpr int reach = 2;
    int top = 0, end = static_cast<int>(nodes_.size());  // what is left is from top to before end
    for (; end - top > 2 * reach; ++top, --end) {
        eliminate_down(top);
        eliminate_up(end - 1);
    }
    first_inner_ = top;
    inner_end_ = end;
    eliminate_inner();
}

// A node that was eliminated from the top has its factors in its own blocks; one from the bottom in
// those of the nodes above it.
void BandedMatrix::solve(std::vector<double>& right) const {
    const int count = static_cast<int>(nodes_.size());
    const Pairs x{right.data()};
    const Node* a = nodes_.data();
    // Of two terms that one comes last whose unknown was found last, so that little waits for it.
    const auto from_above = [&](int j) {
        if (j > 1) x.subtract(j, a[j - 2].after, x[j - 2]);
        if (j > 0) x.subtract(j, a[j - 1].next, x[j - 1]);
    };
    const auto from_below = [&](int j, int first) {
        if (j + 2 >= first && j + 2 < count) x.subtract(j, a[j].after, x[j + 2]);
        if (j + 1 >= first && j + 1 < count) x.subtract(j, a[j].next, x[j + 1]);
    };
    for (int j = 0; j < first_inner_; ++j) {
        from_above(j);
        from_below(count - 1 - j, 0);
    }
    for (int j = first_inner_; j < inner_end_; ++j) {
        from_above(j);
        from_below(j, inner_end_);
    }
    for (int j = 0; j < count; ++j) {
        const auto [p, q] = x[j];
        right[2 * j] = a[j].own.xx * p + a[j].own.xy * q;
        right[2 * j + 1] = a[j].own.xy * p + a[j].own.yy * q;
    }
    const auto back_down = [&](int j, int end) {
        if (j + 2 < end) x.subtract(j, transposed(a[j].after), x[j + 2]);
        if (j + 1 < end) x.subtract(j, transposed(a[j].next), x[j + 1]);
    };
    for (int j = inner_end_ - 1; j >= first_inner_; --j) back_down(j, inner_end_);
    for (int j = first_inner_ - 1, i = inner_end_; j >= 0; --j, ++i) {
        back_down(j, count);
        x.subtract(i, transposed(a[i - 2].after), x[i - 2]);
        x.subtract(i, transposed(a[i - 1].next), x[i - 1]);
    }
}

}  // namespace anfract
