// Reads a CalculiX .frd file of a deck made by make_deck and prints, for each layer of the rod, the
// place of its axis and the largest principal strain at its rim: "s_mm x_mm y_mm z_mm strain".

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <map>
#include <string>

#include "bent_tube.h"

namespace {

using Values = std::map<int, std::array<double, 6>>;

/// The numbers of " -1" lines up to " -3": ten columns of node, then twelve a number.
Values read_block(std::ifstream& in) {
    Values values;
    std::string line;
    while (std::getline(in, line) && line.rfind(" -3", 0) != 0) {
        if (line.rfind(" -1", 0) != 0) continue;
        auto& row = values[std::stoi(line.substr(3, 10))];
        for (std::size_t c = 0; c < 6 && line.size() >= 13 + 12 * (c + 1); ++c) {
            row[c] = std::stod(line.substr(13 + 12 * c, 12));
        }
    }
    return values;
}

double largest_principal(const std::array<double, 6>& e) {
    Eigen::Matrix3d tensor;
    tensor << e[0], e[3], e[5], e[3], e[1], e[4], e[5], e[4], e[2];
    return Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d>(tensor).eigenvalues()[2];
}

struct Layer {
    Eigen::Vector3d axis{0, 0, 0};
    double strain = 0;
};

}  // namespace

int main(int argc, char** argv) {
    const auto* given = argc == 3 ? anfract::calculix::find_case(argv[1]) : nullptr;
    std::ifstream in(argc == 3 ? argv[2] : "");
    if (!given || !in) {
        std::fprintf(stderr, "usage: read_result planar|tight|s-curve|spatial RESULT.frd\n");
        return 2;
    }
    Values nodes, moved, strain;
    std::string line;
    while (std::getline(in, line)) {
        if (line.rfind("    2C", 0) == 0) nodes = read_block(in);
        if (line.rfind(" -4  DISP", 0) == 0) moved = read_block(in);
        if (line.rfind(" -4  TOSTRAIN", 0) == 0) strain = read_block(in);
    }
    std::map<long, Layer> layers;  // by place along the rod in micrometres
    const double rim = given->rod_mm / 2;
    for (const auto& [node, at] : nodes) {
        if (node >= 100000 || !moved.count(node)) continue;
        const double r = std::hypot(at[0], at[1]);
        Layer& layer = layers[std::lround(at[2] * 1000)];
        if (r < 1e-6) {
            const auto& u = moved[node];
            layer.axis = Eigen::Vector3d(at[0] + u[0], at[1] + u[1], at[2] + u[2]);
        } else if (std::abs(r - rim) < 1e-6 && strain.count(node)) {
            layer.strain = std::max(layer.strain, largest_principal(strain[node]));
        }
    }
    if (layers.empty()) {
        std::fprintf(stderr, "read_result: %s holds no displacements\n", argv[2]);
        return 1;
    }
    std::printf("# %s: s_mm x_mm y_mm z_mm largest_principal_strain\n", given->name.c_str());
    for (const auto& [um, layer] : layers) {
        std::printf("%.3f %.6f %.6f %.6f %.6f\n", static_cast<double>(um) / 1000, layer.axis.x(),
                    layer.axis.y(), layer.axis.z(), layer.strain);
    }
    return 0;
}
