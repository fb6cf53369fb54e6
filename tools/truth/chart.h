#pragma once

#include <string>
#include <vector>

namespace anfract::truth {

struct ChartPoint {
    double x = 0, y = 0;
    double low = 0, high = 0;  ///< ends of an error bar; none when equal
};

struct ChartSeries {
    std::string label;  ///< in the legend; empty: none
    std::vector<ChartPoint> points;
    bool line = true;
    bool marks = true;
    bool dashed = false;
};

struct ChartAxis {
    std::string title;
    double from = 0, to = 1;
    std::vector<double> ticks;
};

struct Chart {
    std::string title;
    ChartAxis x, y;
    std::vector<ChartSeries> series;
};

/// The chart as an SVG document, 440 x 330 units.
std::string svg_of(const Chart& chart);

}  // namespace anfract::truth
