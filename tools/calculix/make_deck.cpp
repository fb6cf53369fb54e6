// Writes a CalculiX input deck: an elastic rod of C3D20R solids in a rigid round tube that is bent
// in steps from straight to its final shape. See README.md beside this file.

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <map>
#include <numbers>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include "bent_tube.h"

namespace {

using anfract::calculix::BentTube;
using anfract::calculix::Frame;
using anfract::calculix::TubeCase;

using Vec3 = Eigen::Vector3d;

Vec3 vec(const std::array<double, 3>& p) { return {p[0], p[1], p[2]}; }

/// A line of points with every turn made a fraction of what it is, its pieces as long as they are.
std::vector<Vec3> bent(const std::vector<Vec3>& points, const Vec3& start, double fraction) {
    Eigen::Quaterniond frame = Eigen::Quaterniond::Identity(), part = frame;
    std::vector<Vec3> line{start + fraction * (points[0] - start)};
    for (std::size_t i = 0; i + 1 < points.size(); ++i) {
        const Vec3 piece = points[i + 1] - points[i];
        const Eigen::AngleAxisd turn(
            Eigen::Quaterniond::FromTwoVectors(Vec3::UnitZ(), frame.inverse() * piece));
        frame = frame * turn;
        part = part * Eigen::AngleAxisd(fraction * turn.angle(), turn.axis());
        line.push_back(line.back() + piece.norm() * (part * Vec3::UnitZ()));
    }
    return line;
}

struct Point {
    double x, y;
};

/// The rod's round section as 12 eight-node quadrilaterals: a rounded square of 2 x 2 and a ring
/// of 8.
class SectionMesh {
  public:
    explicit SectionMesh(double radius_mm) : r_(radius_mm) {
        for (int i = 0; i < 3; ++i) {
            for (int j = 0; j < 3; ++j) grid_[i][j] = corner(inner(i - 1, j - 1));
        }
        for (int k = 0; k < 8; ++k) rim_[k] = corner(on_rim(45.0 * k));
        for (int i = 0; i < 2; ++i) {
            for (int j = 0; j < 2; ++j) {
                quads_.push_back(
                    {grid_[i][j], grid_[i + 1][j], grid_[i + 1][j + 1], grid_[i][j + 1]});
            }
        }
        // Inner points going round, starting on the positive x axis like the rim.
        const std::array<int, 8> ring{grid_[2][1], grid_[2][2], grid_[1][2], grid_[0][2],
                                      grid_[0][1], grid_[0][0], grid_[1][0], grid_[2][0]};
        for (int k = 0; k < 8; ++k) {
            quads_.push_back({ring[k], rim_[k], rim_[(k + 1) % 8], ring[(k + 1) % 8]});
        }
        for (const auto& quad : quads_) {
            for (int e = 0; e < 4; ++e) edge(quad[e], quad[(e + 1) % 4]);
        }
    }

    const std::vector<Point>& corners() const { return corners_; }
    const std::vector<Point>& mids() const { return mids_; }
    const std::vector<std::array<int, 4>>& quads() const { return quads_; }
    int mid(int a, int b) const { return edges_.at({std::min(a, b), std::max(a, b)}); }
    int centre() const { return grid_[1][1]; }
    static constexpr int first_ring_quad = 4;  // its side 2-3 lies on the rim

  private:
    Point on_rim(double deg) const {
        const double a = deg * std::numbers::pi / 180;
        return {r_ * std::cos(a), r_ * std::sin(a)};
    }
    Point inner(int i, int j) const {
        const double size = (i != 0 && j != 0 ? 0.45 : 0.55) * r_;
        return {size * i, size * j};
    }
    int corner(Point p) {
        corners_.push_back(p);
        return static_cast<int>(corners_.size()) - 1;
    }
    void edge(int a, int b) {
        const std::pair<int, int> key{std::min(a, b), std::max(a, b)};
        if (edges_.count(key)) return;
        Point p{(corners_[a].x + corners_[b].x) / 2, (corners_[a].y + corners_[b].y) / 2};
        for (int k = 0; k < 8; ++k) {
            const int c = rim_[k], d = rim_[(k + 1) % 8];
            if (key == std::pair{std::min(c, d), std::max(c, d)}) p = on_rim(45.0 * k + 22.5);
        }
        edges_[key] = static_cast<int>(mids_.size());
        mids_.push_back(p);
    }

    double r_;
    std::array<std::array<int, 3>, 3> grid_{};
    std::array<int, 8> rim_{};
    std::vector<Point> corners_, mids_;
    std::vector<std::array<int, 4>> quads_;
    std::map<std::pair<int, int>, int> edges_;
};

class Deck {
  public:
    /// @param start  the rod's axis to begin from, two places a layer; empty: half the clearance
    /// off the tube's line
    Deck(const TubeCase& given, std::FILE* out, std::vector<Vec3> start)
        : case_(given), out_(out), section_(given.rod_mm / 2), start_(std::move(start)) {
        const BentTube tube(case_, 1);
        for (int i = static_cast<int>(start_.size()); i < places(); ++i) {
            const Frame f = tube.at(i * case_.layer_mm / 2);
            start_.push_back(vec(f.point) - case_.clearance_mm / 2 * vec(f.n1));
        }
        for (int i = 0; i < places(); ++i) {
            double s = i * case_.layer_mm / 2;  // the place of the tube's line next to the rod
            for (int k = 0; k < 50; ++k) {
                const Frame f = tube.at(s);
                const Vec3 away = start_[static_cast<std::size_t>(i)] - vec(f.point);
                s += 0.8 * away.dot(vec(f.tangent));
            }
            anchors_mm_.push_back(s);
        }
    }

    void write() {
        std::fprintf(out_, "** %s: rod in a tube, made by make_deck\n", case_.name.c_str());
        write_rod();
        write_wall();
        write_model();
        for (int step = 1; step <= case_.steps; ++step) write_bend(step);
        write_release();
    }

  private:
    static constexpr int anchor_base = 100000;  // node numbers of the tube's line start here

    int layers() const {
        return static_cast<int>(std::lround(case_.rod_length_mm / case_.layer_mm));
    }
    int per_layer() const {
        return static_cast<int>(section_.corners().size() + section_.mids().size());
    }
    int per_pair() const { return per_layer() + static_cast<int>(section_.corners().size()); }
    int corner_node(int layer, int corner) const { return 1 + layer * per_pair() + corner; }
    int edge_node(int layer, int mid) const {
        return 1 + layer * per_pair() + static_cast<int>(section_.corners().size()) + mid;
    }
    int between_node(int layer, int corner) const {
        return 1 + layer * per_pair() + per_layer() + corner;
    }

    void write_rod() {
        std::fprintf(out_, "*NODE, NSET=NROD\n");
        for (int k = 0; k <= layers(); ++k) {
            const double z = k * case_.layer_mm;
            for (std::size_t c = 0; c < section_.corners().size(); ++c) {
                put(corner_node(k, static_cast<int>(c)), section_.corners()[c], z);
                if (k < layers())
                    put(between_node(k, static_cast<int>(c)), section_.corners()[c],
                        z + case_.layer_mm / 2);
            }
            for (std::size_t m = 0; m < section_.mids().size(); ++m) {
                put(edge_node(k, static_cast<int>(m)), section_.mids()[m], z);
            }
        }
        std::fprintf(out_, "*ELEMENT, TYPE=C3D20R, ELSET=ROD\n");
        int element = 1;
        for (int k = 0; k < layers(); ++k) {
            for (const auto& q : section_.quads()) {
                std::fprintf(out_, "%d,", element++);
                for (int end = 0; end < 2; ++end) {
                    for (int c : q) std::fprintf(out_, "%d,", corner_node(k + end, c));
                }
                std::fprintf(out_, "\n");
                for (int end = 0; end < 2; ++end) {
                    for (int e = 0; e < 4; ++e) {
                        std::fprintf(out_, "%d,",
                                     edge_node(k + end, section_.mid(q[e], q[(e + 1) % 4])));
                    }
                }
                for (int e = 0; e < 4; ++e) {
                    std::fprintf(out_, "%d%s", between_node(k, q[e]), e < 3 ? "," : "\n");
                }
            }
        }
        std::fprintf(out_, "*NSET, NSET=TOP\n");
        for (int n = 0; n < per_layer(); ++n) std::fprintf(out_, "%d,\n", 1 + n);
    }

    void put(int node, Point p, double z) const {
        // It starts on the wall, where the springs of the wall have their length at rest.
        std::fprintf(out_, "%d,%.9g,%.9g,%.9g\n", node, p.x - case_.clearance_mm, p.y, z);
    }

    /// Nodes of the rod's axis, two a layer and one at the end.
    int places() const { return 2 * layers() + 1; }
    int axis_node(int place) const {
        return place % 2 == 0 ? corner_node(place / 2, section_.centre())
                              : between_node(place / 2, section_.centre());
    }
    static int anchor_node(int place) { return anchor_base + place; }

    void write_wall() const {
        std::fprintf(out_, "*NODE, NSET=ANCHORS\n");
        for (int i = 0; i < places(); ++i) {
            std::fprintf(out_, "%d,0,0,%.9g\n", anchor_node(i), i * case_.layer_mm / 2);
        }
        std::fprintf(out_, "*ELEMENT, TYPE=SPRINGA, ELSET=WALL\n");
        for (int i = 0; i < places(); ++i) {
            std::fprintf(out_, "%d,%d,%d\n", anchor_base + i, anchor_node(i), axis_node(i));
        }
        // Nothing until the axis is as far off as the clearance, then stiff.
        std::fprintf(out_, "*SPRING, ELSET=WALL, NONLINEAR\n0.,-1.\n0.,0.\n%g,1.\n",
                     case_.wall_N_per_mm);
    }

    void write_model() const {
        std::fprintf(out_,
                     "*MATERIAL, NAME=ALLOY\n*ELASTIC\n%g,0.33\n"
                     "*SOLID SECTION, ELSET=ROD, MATERIAL=ALLOY\n",
                     case_.modulus_MPa);
        // The rod must not spin: a weak hold sideways at a rim node of the top.
        std::fprintf(out_,
                     "*ELEMENT, TYPE=SPRING1, ELSET=HOLDSPIN\n900000,%d\n"
                     "*SPRING, ELSET=HOLDSPIN\n2\n1.e-5\n",
                     corner_node(0, 9));
    }

    /// Leads the axis to where the start has it, bent to a fraction, and the anchors with it.
    void write_bend(int step) const {
        const double fraction = static_cast<double>(step) / case_.steps;
        const std::vector<Vec3> axis = bent(start_, rest()[0], fraction);
        write_controls(1);
        for (int i = 0; i < places(); ++i) {
            const std::size_t k = static_cast<std::size_t>(i);
            const Vec3 across = vec(BentTube(case_, 1).at(anchors_mm_[k]).point) - start_[k];
            const Vec3 before(case_.clearance_mm, 0, 0);
            put_moved(axis_node(i), axis[k] - rest()[k]);
            put_moved(anchor_node(i), axis[k] - rest()[k] + fraction * (across - before));
        }
        write_prints(0);
    }

    /// Lets the axis go, the anchors staying on the tube's line. The top face stays flat and square
    /// to the coronal axis but may shift sideways: a handle that floats in line.
    void write_release() const {
        write_controls(0.01);
        for (int i = 0; i < places(); ++i) {
            const Frame at = BentTube(case_, 1).at(anchors_mm_[static_cast<std::size_t>(i)]);
            put_moved(anchor_node(i), vec(at.point) - Vec3(0, 0, i * case_.layer_mm / 2));
        }
        std::fprintf(out_, "TOP,3,3,0.\n");
        write_prints(1000);
    }

    /// @param force_N  that residuals are judged against: the average over all nodes, most of which
    /// carry none, would ask too much
    void write_controls(double force_N) const {
        std::fprintf(out_,
                     "*STEP, NLGEOM, INC=200\n*STATIC\n1.,1.,1e-4,1.\n"
                     "*CONTROLS, PARAMETERS=TIME INCREMENTATION\n60,70,9,100,10,4,,5\n"
                     "*CONTROLS, PARAMETERS=FIELD\n0.005,0.01,%g,%g\n*BOUNDARY, OP=NEW\n",
                     force_N, force_N);
    }

    void put_moved(int node, const Vec3& moved) const {
        for (int c = 0; c < 3; ++c) {
            std::fprintf(out_, "%d,%d,%d,%.12g\n", node, c + 1, c + 1, moved[c]);
        }
    }

    void write_prints(int every) const {
        std::fprintf(out_, "*NODE PRINT, NSET=ANCHORS, FREQUENCY=%d\n", every);
        if (every) std::fprintf(out_, "RF\n");
        std::fprintf(out_, "*NODE PRINT, NSET=NROD, FREQUENCY=%d\n", every);
        if (every) std::fprintf(out_, "U\n");
        std::fprintf(out_, "*NODE FILE, NSET=NROD, FREQUENCY=%d\nU\n*END STEP\n", every);
    }

    std::vector<Vec3> rest() const {
        std::vector<Vec3> points;
        for (int i = 0; i < places(); ++i) {
            points.emplace_back(-case_.clearance_mm, 0, i * case_.layer_mm / 2);
        }
        return points;
    }

    TubeCase case_;
    std::FILE* out_;
    SectionMesh section_;
    std::vector<Vec3> start_;
    std::vector<double> anchors_mm_;
};

/// The axis in an earlier result.
std::vector<Vec3> axis_from(const char* result) {
    std::vector<Vec3> axis;
    std::ifstream in(result);
    std::string line;
    while (std::getline(in, line)) {
        std::istringstream row(line);
        double s = 0;
        Vec3 at;
        if (row >> s >> at.x() >> at.y() >> at.z()) axis.push_back(at);
    }
    return axis;
}

}  // namespace

int main(int argc, char** argv) {
    const TubeCase* given =
        argc == 3 || argc == 4 ? anfract::calculix::find_case(argv[1]) : nullptr;
    if (!given) {
        std::fprintf(
            stderr, "usage: make_deck planar|tight|s-curve|spatial OUT.inp [EARLIER_RESULT.txt]\n");
        return 2;
    }
    std::FILE* out = std::fopen(argv[2], "w");
    if (!out) {
        std::fprintf(stderr, "make_deck: cannot write %s\n", argv[2]);
        return 1;
    }
    Deck(*given, out, argc == 4 ? axis_from(argv[3]) : std::vector<Vec3>()).write();
    return std::fclose(out) == 0 ? 0 : 1;
}
