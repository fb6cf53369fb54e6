// Reads what CalculiX made of a deck of make_deck and prints, for each place of the rod's axis,
// "s_mm x_mm y_mm z_mm strain force_N": where it lies, the bending strain at the rim between it and
// the next, and what the wall presses on it with.

#include <Eigen/Dense>
#include <array>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "bent_tube.h"

namespace {

using Vectors = std::map<int, Eigen::Vector3d>;

/// Places of nodes of a deck's first *NODE block.
Vectors nodes_of(std::ifstream& deck) {
    Vectors nodes;
    std::string line;
    while (std::getline(deck, line) && line.rfind("*NODE", 0) != 0) {
    }
    while (std::getline(deck, line) && line.rfind("*", 0) != 0) {
        int node = 0;
        Eigen::Vector3d p;
        if (std::sscanf(line.c_str(), "%d,%lf,%lf,%lf", &node, &p.x(), &p.y(), &p.z()) == 4) {
            nodes[node] = p;
        }
    }
    return nodes;
}

/// The last table of printed values whose title begins so.
Vectors table_of(const std::string& file, const std::string& title) {
    std::ifstream in(file);
    Vectors table;
    std::string line;
    bool inside = false;
    while (std::getline(in, line)) {
        std::istringstream row(line);
        int node = 0;
        Eigen::Vector3d value;
        if (row >> node >> value.x() >> value.y() >> value.z()) {
            if (inside) table[node] = value;
        } else if (line.find_first_not_of(' ') != std::string::npos) {
            inside = line.find(title) != std::string::npos;
            if (inside) table.clear();
        }
    }
    return table;
}

struct Place {
    Eigen::Vector3d axis{0, 0, 0};
    std::map<int, Eigen::Vector3d> rim;  // by direction in degrees
};

/// Bending strain between two places: the amplitude of the first harmonic of how much the lines
/// along the rim have stretched, their arcs taken for the chords that are known.
double bending_strain(const Place& a, const Place& b, double step_mm, double bend_per_mm) {
    const double arc = 1 + std::pow(bend_per_mm * step_mm, 2) / 24;
    Eigen::MatrixXd rows(static_cast<long>(a.rim.size()), 3);
    Eigen::VectorXd stretched(rows.rows());
    long i = 0;
    for (const auto& [deg, p] : a.rim) {
        const auto q = b.rim.find(deg);
        if (q == b.rim.end()) return 0;
        const double angle = deg * 3.14159265358979323846 / 180;
        rows.row(i) << 1, std::cos(angle), std::sin(angle);
        stretched(i++) = (q->second - p).norm() / step_mm * arc - 1;
    }
    const Eigen::Vector3d fit = rows.colPivHouseholderQr().solve(stretched);
    return std::hypot(fit(1), fit(2));
}

}  // namespace

int main(int argc, char** argv) {
    const auto* given = argc == 4 ? anfract::calculix::find_case(argv[1]) : nullptr;
    std::ifstream deck(argc == 4 ? argv[2] : "");
    if (!given || !deck) {
        std::fprintf(stderr,
                     "usage: read_result planar|tight|s-curve|spatial DECK.inp RESULT.dat\n");
        return 2;
    }
    const Vectors nodes = nodes_of(deck);
    const Vectors moved = table_of(argv[3], "displacements"), pressed = table_of(argv[3], "forces");
    std::map<long, Place> places;  // by micrometres along the rod
    for (const auto& [node, at] : nodes) {
        const auto u = moved.find(node);
        if (u == moved.end()) continue;
        const double x = at.x() + given->clearance_mm, r = std::hypot(x, at.y());
        Place& place = places[std::lround(at.z() * 1000)];
        const int deg = static_cast<int>(std::lround(std::atan2(at.y(), x) * 180 / 3.14159265));
        if (r < 1e-6) place.axis = at + u->second;
        if (std::abs(r - given->rod_mm / 2) < 1e-6 && deg % 45 == 0) {
            place.rim[deg] = at + u->second;
        }
    }
    if (places.size() < 3) {
        std::fprintf(stderr, "read_result: %s holds no displacements\n", argv[3]);
        return 1;
    }
    const double step = given->layer_mm / 2;
    std::vector<Place> line;
    for (const auto& [um, place] : places) line.push_back(place);
    std::printf("# %s: s_mm x_mm y_mm z_mm strain_to_next force_N\n", given->name.c_str());
    for (std::size_t i = 0; i < line.size(); ++i) {
        double strain = 0;
        if (i + 1 < line.size()) {
            const std::size_t k = std::clamp<std::size_t>(i, 1, line.size() - 2);
            const Eigen::Vector3d bend = line[k + 1].axis - 2 * line[k].axis + line[k - 1].axis;
            strain = bending_strain(line[i], line[i + 1], step, bend.norm() / (step * step));
        }
        const auto force = pressed.find(100000 + static_cast<int>(i));
        std::printf("%.3f %.6f %.6f %.6f %.6f %.5f\n", step * static_cast<double>(i),
                    line[i].axis.x(), line[i].axis.y(), line[i].axis.z(), strain,
                    force == pressed.end() ? 0 : force->second.norm());
    }
    return 0;
}
