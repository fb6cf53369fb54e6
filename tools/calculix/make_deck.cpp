// Writes a CalculiX input deck: an elastic rod of C3D20R solids inside a rigid tube that is bent in
// steps from straight to its final shape. See README.md beside this file.

#include <array>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <map>
#include <numbers>
#include <string>
#include <vector>

#include "bent_tube.h"

namespace {

using anfract::calculix::BentTube;
using anfract::calculix::Frame;
using anfract::calculix::TubeCase;

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
    Deck(const TubeCase& given, std::FILE* out)
        : case_(given), out_(out), section_(given.rod_mm / 2) {}

    void write() {
        std::fprintf(out_, "** %s: rod in a tube, made by make_deck\n", case_.name.c_str());
        write_rod();
        write_tube();
        write_model();
        for (int step = 1; step <= case_.steps; ++step) write_step(step);
    }

  private:
    static constexpr int tube_base = 100000;  // node numbers of the tube start here

    int layers() const {
        return static_cast<int>(std::lround(case_.rod_length_mm / case_.layer_mm));
    }
    int stations() const {
        return static_cast<int>(std::ceil(case_.tube_length_mm() / case_.tube_step_mm)) + 1;
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
        // A surface for each layer, so that the solver prints the contact force layer by layer.
        const int quads = static_cast<int>(section_.quads().size());
        for (int k = 0; k < layers(); ++k) {
            std::fprintf(out_, "*SURFACE, NAME=SROD%d, TYPE=ELEMENT\n", k);
            for (int q = SectionMesh::first_ring_quad; q < quads; ++q) {
                std::fprintf(out_, "%d,S4\n",
                             1 + k * quads + q);  // S4 is the face over corners 2 and 3
            }
        }
        std::fprintf(out_, "*NSET, NSET=AXIS\n");
        for (int k = 0; k <= layers(); ++k) {
            std::fprintf(out_, "%d,\n", corner_node(k, section_.centre()));
            if (k < layers()) std::fprintf(out_, "%d,\n", between_node(k, section_.centre()));
        }
        std::fprintf(out_, "*NSET, NSET=TOP\n");
        for (int n = 0; n < per_layer(); ++n) std::fprintf(out_, "%d,\n", 1 + n);
    }

    void put(int node, Point p, double z) const {
        std::fprintf(out_, "%d,%.9g,%.9g,%.9g\n", node, p.x, p.y, z);
    }

    int tube_node(int station, int side, int ring) const {
        return tube_base + (station * case_.around + side % case_.around) * 2 + ring;
    }

    /// Position of a tube node at a fraction of the final bend.
    std::array<double, 3> tube_point(const Frame& f, int side, int ring) const {
        const double a = 2 * std::numbers::pi * side / case_.around;
        // Corners of the polygon lie outside the circle so that its facets have the circle's area.
        const double scale = std::sqrt((2 * std::numbers::pi / case_.around) /
                                       std::sin(2 * std::numbers::pi / case_.around));
        const double r = case_.tube_radius_mm() * scale + 0.1 * ring;
        std::array<double, 3> p{};
        for (int c = 0; c < 3; ++c) {
            p[c] = f.point[c] + r * (std::cos(a) * f.n1[c] + std::sin(a) * f.n2[c]);
        }
        return p;
    }

    void write_tube() {
        const auto frames = BentTube(case_, 0).frames(stations());
        std::fprintf(out_, "*NODE, NSET=NTUBE\n");
        for (int i = 0; i < stations(); ++i) {
            for (int j = 0; j < case_.around; ++j) {
                for (int ring = 0; ring < 2; ++ring) {
                    const auto p = tube_point(frames[i], j, ring);
                    std::fprintf(out_, "%d,%.9g,%.9g,%.9g\n", tube_node(i, j, ring), p[0], p[1],
                                 p[2]);
                }
            }
        }
        std::fprintf(out_, "*ELEMENT, TYPE=C3D8, ELSET=TUBE\n");
        int element = tube_base;
        for (int i = 0; i + 1 < stations(); ++i) {
            for (int j = 0; j < case_.around; ++j) {
                std::fprintf(out_, "%d,%d,%d,%d,%d,%d,%d,%d,%d\n", element++, tube_node(i, j, 0),
                             tube_node(i, j, 1), tube_node(i, j + 1, 1), tube_node(i, j + 1, 0),
                             tube_node(i + 1, j, 0), tube_node(i + 1, j, 1),
                             tube_node(i + 1, j + 1, 1), tube_node(i + 1, j + 1, 0));
            }
        }
        std::fprintf(out_, "*SURFACE, NAME=STUBE, TYPE=ELEMENT\n");
        for (int e = tube_base; e < element; ++e)
            std::fprintf(out_, "%d,S6\n", e);  // corners 4 and 1: inside
    }

    void write_model() const {
        std::fprintf(out_,
                     "*MATERIAL, NAME=ALLOY\n*ELASTIC\n%g,0.33\n*MATERIAL, "
                     "NAME=STIFF\n*ELASTIC\n200000,0.3\n"
                     "*SOLID SECTION, ELSET=ROD, MATERIAL=ALLOY\n*SOLID SECTION, ELSET=TUBE, "
                     "MATERIAL=STIFF\n"
                     "*SURFACE INTERACTION, NAME=WALL\n"
                     "*SURFACE BEHAVIOR, PRESSURE-OVERCLOSURE=LINEAR\n20000.,1.\n"
                     "*CONTACT PAIR, INTERACTION=WALL, TYPE=SURFACE TO SURFACE\n",
                     case_.modulus_MPa);
        for (int k = 0; k < layers(); ++k) std::fprintf(out_, "SROD%d,STUBE\n", k);
        // Weak springs to the ground keep the rod from drifting before it touches. They pull on it
        // in the bent tube too, where it lies millimetres aside, and then with 5e-6 N each: springs
        // a hundred times stiffer moved the free tip by 13 um.
        std::fprintf(out_, "*ELEMENT, TYPE=SPRING1, ELSET=HOLDX\n");
        int element = 900000;
        for (int k = 0; k <= layers(); k += 2) {
            std::fprintf(out_, "%d,%d\n", element++, corner_node(k, section_.centre()));
        }
        std::fprintf(out_, "*ELEMENT, TYPE=SPRING1, ELSET=HOLDY\n");
        for (int k = 0; k <= layers(); k += 2) {
            std::fprintf(out_, "%d,%d\n", element++, corner_node(k, section_.centre()));
        }
        // The rod must not spin: a weak hold sideways at a rim node of the top.
        std::fprintf(out_,
                     "*ELEMENT, TYPE=SPRING1, ELSET=HOLDSPIN\n%d,%d\n"
                     "*SPRING, ELSET=HOLDX\n1\n1.e-6\n*SPRING, ELSET=HOLDY\n2\n1.e-6\n"
                     "*SPRING, ELSET=HOLDSPIN\n2\n1.e-5\n",
                     element, corner_node(0, 9));
        // The top face stays flat and square to the coronal axis but may shift sideways: a handle
        // that floats in line.
        std::fprintf(out_, "*BOUNDARY\nTOP,3,3,0.\n");
    }

    void write_step(int step) const {
        const auto rest = BentTube(case_, 0).frames(stations());
        const auto bent =
            BentTube(case_, static_cast<double>(step) / case_.steps).frames(stations());
        std::fprintf(out_, "*STEP, NLGEOM, INC=200\n*STATIC\n0.5,1.,1e-6,0.5\n*BOUNDARY\n");
        for (int i = 0; i < stations(); ++i) {
            for (int j = 0; j < case_.around; ++j) {
                for (int ring = 0; ring < 2; ++ring) {
                    const auto a = tube_point(rest[i], j, ring), b = tube_point(bent[i], j, ring);
                    for (int c = 0; c < 3; ++c) {
                        std::fprintf(out_, "%d,%d,%d,%.9g\n", tube_node(i, j, ring), c + 1, c + 1,
                                     b[c] - a[c]);
                    }
                }
            }
        }
        if (step == case_.steps) {
            std::fprintf(out_,
                         "*NODE PRINT, NSET=AXIS, FREQUENCY=1000\nU\n*NODE FILE, NSET=NROD, "
                         "FREQUENCY=1000\nU\n"
                         "*EL FILE, FREQUENCY=1000\nE\n");
            for (int k = 0; k < layers(); ++k) {
                std::fprintf(out_,
                             "*CONTACT PRINT, SLAVE=SROD%d, MASTER=STUBE, FREQUENCY=1000\nCF\n", k);
            }
        } else {
            std::fprintf(
                out_, "*NODE PRINT, FREQUENCY=0\n*NODE FILE, FREQUENCY=0\n*EL FILE, FREQUENCY=0\n");
        }
        std::fprintf(out_, "*END STEP\n");
    }

    TubeCase case_;
    std::FILE* out_;
    SectionMesh section_;
};

}  // namespace

int main(int argc, char** argv) {
    const TubeCase* given = argc == 3 ? anfract::calculix::find_case(argv[1]) : nullptr;
    if (!given) {
        std::fprintf(stderr, "usage: make_deck planar|tight|s-curve|spatial OUT.inp\n");
        return 2;
    }
    std::FILE* out = std::fopen(argv[2], "w");
    if (!out) {
        std::fprintf(stderr, "make_deck: cannot write %s\n", argv[2]);
        return 1;
    }
    Deck(*given, out).write();
    return std::fclose(out) == 0 ? 0 : 1;
}
