// Canals by ITK's general filters beside ours, on the same scans in the same run: errors against
// the truth of phantoms, and times. Markdown on stdout.
//
// ITK's way: four-scale vesselness, fast marching from the chamber, the steepest way back from each
// canal's end, widths at half maximum. It is told what we have to find: where every canal ends.

#include <Eigen/Geometry>
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>

#include "anfract/geometry/polyline.h"
#include "anfract/phantom/phantom.h"
#include "anfract/tracing/trace.h"
#include "itk_pipeline.h"
#include "trial.h"

namespace {

using namespace anfract;

constexpr double stop_at = 400;
constexpr float hard_from = 830;

struct Sums {
    int canals = 0, found = 0;
    double line = 0, width = 0, widths = 0, seconds = 0;
};

/// Value at continuous voxel coordinates, trilinear, the border repeated.
double value_at(const std::vector<float>& values, const GridGeometry& g, const Vec3& point_P) {
    const Vec3 v = g.to_voxel(point_P);
    double sum = 0;
    for (int corner = 0; corner < 8; ++corner) {
        double weight = 1;
        int at[3];
        for (int a = 0; a < 3; ++a) {
            const double c = std::clamp(v[a], 0.0, double(g.size[std::size_t(a)]) - 1.001);
            const int up = (corner >> a) & 1;
            at[a] = int(c) + up;
            weight *= up ? c - int(c) : 1 - (c - int(c));
        }
        sum += weight * double(values[g.index(at[0], at[1], at[2])]);
    }
    return sum;
}

/// Steepest descent of the arrival time from the canal's end to the chamber.
std::vector<Vec3> way_back(const std::vector<float>& arrival, const GridGeometry& g, Vec3 at,
                           const Vec3& seed_P) {
    std::vector<Vec3> points{at};
    const double h = g.spacing_mm.x(), step = 0.5 * h;
    for (int n = 0; n < 2000 && (at - seed_P).norm() > 1.0; ++n) {
        Vec3 slope;
        for (int a = 0; a < 3; ++a) {
            Vec3 d = Vec3::Zero();
            d[a] = h;
            // A place the front did not come to is a wall.
            const double up = std::min(value_at(arrival, g, at + d), 1e4);
            const double down = std::min(value_at(arrival, g, at - d), 1e4);
            slope[a] = up - down;
        }
        if (slope.norm() < 1e-9) break;
        at -= step * slope.normalized();
        points.push_back(at);
    }
    return points;
}

/// Full width at half depth of the dark dip across a canal, mean of two directions; 0 for no dip.
double half_width_mm(const Brick& brick, const Vec3& middle, const Vec3& tangent) {
    const Vec3 first = tangent.unitOrthogonal(), second = tangent.cross(first);
    constexpr double reach_mm = 1.2, step_mm = 0.02;
    double product = 1;
    for (const Vec3& direction : {first, second}) {
        double width = 0;
        const double dark = value_at(brick.grey, brick.geometry, middle);
        for (const double sign : {-1.0, 1.0}) {
            double most = dark;
            for (double t = 0; t < reach_mm; t += step_mm)
                most = std::max(
                    most, value_at(brick.grey, brick.geometry, middle + sign * t * direction));
            const double half = 0.5 * (dark + most);
            double t = 0;
            while (t < reach_mm &&
                   value_at(brick.grey, brick.geometry, middle + sign * t * direction) < half)
                t += step_mm;
            width += t;
        }
        product *= width;
    }
    return std::sqrt(product);
}

std::array<int, 3> voxel_of(const GridGeometry& g, const Vec3& point_P) {
    const Vec3 v = g.to_voxel(point_P);
    return {int(std::lround(v.x())), int(std::lround(v.y())), int(std::lround(v.z()))};
}

void read_with_itk(const Phantom& phantom, Sums& sums) {
    const GridGeometry& whole = phantom.volume.geometry;
    const Vec3 size(whole.size[0], whole.size[1], whole.size[2]);
    const Brick brick = crop(phantom.volume, whole.to_patient((size - Vec3::Ones()) / 2),
                             size.cwiseProduct(whole.spacing_mm));
    const GridGeometry& g = brick.geometry;
    const auto start = std::chrono::steady_clock::now();
    const Vec3& h = g.spacing_mm;
    const bench::ItkTrace itk =
        bench::trace_with_itk({g.size, {h.x(), h.y(), h.z()}, brick.grey},
                              voxel_of(g, phantom.inside_P), hard_from, stop_at);
    for (const Canal& canal : phantom.truth.canals) {
        ++sums.canals;
        // From just inside the foramen, where the canal still is one.
        const Vec3 end = canal.samples[canal.samples.size() - 5].point_P;
        const Polyline line(way_back(itk.arrival, g, end, phantom.inside_P));
        double squares = 0;
        for (const CanalSample& s : canal.samples)
            squares += std::pow(line.nearest(s.point_P).distance_mm, 2);
        const double rms = std::sqrt(squares / double(canal.samples.size()));
        if (rms > 0.5) continue;
        ++sums.found;
        sums.line += rms * rms;
        for (std::size_t i = 10; i + 10 < canal.samples.size(); i += 5) {
            const Vec3 middle = line.at(line.nearest(canal.samples[i].point_P).s_mm);
            const Vec3 tangent =
                (canal.samples[i + 1].point_P - canal.samples[i - 1].point_P).normalized();
            const double relative =
                half_width_mm(brick, middle, tangent) / canal.samples[i].diameter_mm - 1;
            sums.width += relative * relative;
            sums.widths += 1;
        }
    }
    sums.seconds += std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

void read_with_ours(const Phantom& phantom, Sums& sums) {
    const TraceRequest request = truth::request_for(phantom);
    const auto start = std::chrono::steady_clock::now();
    const Result<Tooth> tooth = trace(phantom.volume, request, Progress());
    sums.seconds += std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    const truth::ToothError error = truth::compare(tooth ? *tooth : Tooth{}, phantom);
    for (const truth::CanalError& canal : error.canals) {
        ++sums.canals;
        if (!canal.found()) continue;
        ++sums.found;
        sums.line += canal.line_rms_mm * canal.line_rms_mm;
        for (const truth::WidthPair& w : canal.widths) {
            sums.width += std::pow(w.traced_mm / w.true_mm - 1, 2);
            sums.widths += 1;
        }
    }
}

void print(const char* name, const Sums& s, int teeth) {
    std::printf("| %s | %d of %d | %.3f | %.0f %% | %.2f |\n", name, s.found, s.canals,
                std::sqrt(s.line / std::max(s.found, 1)),
                100 * std::sqrt(s.width / std::max(s.widths, 1.0)), s.seconds / teeth);
}

}  // namespace

int main(int argc, char** argv) {
    const int seeds = argc > 1 ? std::atoi(argv[1]) : 1;
    Sums ours, itk;
    int teeth = 0;
    for (const PhantomKind& kind : phantom_kinds()) {
        for (int seed = 1; seed <= seeds; ++seed, ++teeth) {
            PhantomOptions options;
            options.kind = kind.name;
            options.seed = std::uint64_t(seed);
            const Result<Phantom> phantom = make_phantom(options, Progress());
            if (!phantom) return 1;
            read_with_ours(*phantom, ours);
            read_with_itk(*phantom, itk);
        }
    }
    std::printf(
        "| %d teeth | canals followed | line rms mm | width rms | s a tooth "
        "|\n|---|---|---|---|---|\n",
        teeth);
    print("one click, everything found and measured", ours, teeth);
    print("ITK, told the end of every canal", itk, teeth);
    return 0;
}
