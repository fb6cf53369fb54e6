#pragma once

#include <array>
#include <cmath>
#include <string>
#include <vector>

namespace anfract::calculix {

/// A piece of a centreline with constant curvature, bending toward (cos, sin) of a direction in the
/// twist-free frame.
struct Piece {
    double length_mm;
    double curvature_per_mm;
    double toward_deg;
};

/// A rod in a tube.
struct TubeCase {
    std::string name;
    double rod_mm = 0.25;  ///< diameter
    double rod_length_mm = 16;
    double modulus_MPa = 60000;
    double clearance_mm = 0.1;    ///< radial
    double layer_mm = 0.2;        ///< length of the rod's elements
    int steps = 4;                ///< in which the rod is bent before it is let go
    double wall_N_per_mm = 5000;  ///< how stiff the wall is at each place of the rod, two a layer
    std::vector<Piece> pieces;

    double tube_radius_mm() const { return rod_mm / 2 + clearance_mm; }
    double tube_length_mm() const {
        double sum = 0;
        for (const Piece& piece : pieces) sum += piece.length_mm;
        return sum;
    }
};

/// planar: 6 mm straight, an arc of radius 5 mm through 45 degrees, then straight. tight: an arc of
/// radius 2 mm through 60 degrees. s-curve: two arcs of radius 5 mm through 30 degrees that bend
/// opposite ways. spatial: two of 45 degrees, the second bending 90 degrees about from the first.
inline const std::vector<TubeCase>& tube_cases() {
    constexpr double pi = 3.14159265358979323846;
    constexpr double arc = 5 * pi / 4, tight_arc = 2 * pi / 3, half_s = 5 * pi / 6;
    static const std::vector<TubeCase> cases{
        {.name = "planar", .pieces = {{6, 0, 0}, {arc, 0.2, 0}, {7, 0, 0}}},
        {.name = "tight", .layer_mm = 0.1, .pieces = {{6, 0, 0}, {tight_arc, 0.5, 0}, {9, 0, 0}}},
        {.name = "s-curve",
         .pieces = {{5, 0, 0}, {half_s, 0.2, 0}, {1, 0, 0}, {half_s, 0.2, 180}, {6, 0, 0}}},
        {.name = "spatial",
         .pieces = {{4, 0, 0}, {arc, 0.2, 0}, {1, 0, 0}, {arc, 0.2, 90}, {4, 0, 0}}}};
    return cases;
}

inline const TubeCase* find_case(const std::string& name) {
    for (const TubeCase& given : tube_cases()) {
        if (given.name == name) return &given;
    }
    return nullptr;
}

struct Frame {
    std::array<double, 3> point, n1, n2, tangent;
};

/// The centreline of a case bent to a fraction of its final curvature, its length kept; starts at
/// the origin along z.
class BentTube {
  public:
    BentTube(const TubeCase& given, double fraction) : case_(given), fraction_(fraction) {}

    /// Evenly spaced along the tube, both ends kept.
    std::vector<Frame> frames(int count) const {
        std::vector<Frame> result;
        for (int i = 0; i < count; ++i) {
            result.push_back(at(case_.tube_length_mm() * i / (count - 1)));
        }
        return result;
    }

    /// Each piece is an arc: rotate about its binormal.
    Frame at(double s) const {
        Frame f{{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
        for (const Piece& piece : case_.pieces) {
            const double step = std::min(s, piece.length_mm);
            advance(f, step, piece);
            s -= step;
        }
        return f;
    }

  private:
    void advance(Frame& f, double step, const Piece& piece) const {
        const double k = piece.curvature_per_mm * fraction_;
        const double c = std::cos(piece.toward_deg * 3.14159265358979323846 / 180);
        const double d = std::sin(piece.toward_deg * 3.14159265358979323846 / 180);
        const double turn = k * step;
        const double along = k > 0 ? std::sin(turn) / k : step;
        const double aside = k > 0 ? (1 - std::cos(turn)) / k : 0;
        for (int i = 0; i < 3; ++i) {
            const double toward = c * f.n1[i] + d * f.n2[i];
            const double across = -d * f.n1[i] + c * f.n2[i];
            const double t = f.tangent[i];
            f.point[i] += along * t + aside * toward;
            f.tangent[i] = std::cos(turn) * t + std::sin(turn) * toward;
            const double turned = std::cos(turn) * toward - std::sin(turn) * t;
            f.n1[i] = c * turned - d * across;
            f.n2[i] = d * turned + c * across;
        }
    }

    TubeCase case_;
    double fraction_;
};

}  // namespace anfract::calculix
