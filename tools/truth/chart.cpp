#include "chart.h"

#include <fmt/format.h>

#include <array>

namespace anfract::truth {
namespace {

constexpr double width = 440, height = 330;
constexpr double left = 52, right = 14, top = 30, bottom = 46;

// Dark enough on white and told apart by people with any colour vision [Wong2011].
constexpr std::array<const char*, 6> colours{"#0072b2", "#d55e00", "#009e73",
                                             "#cc79a7", "#565656", "#e69f00"};

class Drawing {
  public:
    explicit Drawing(const Chart& chart) : chart_(chart) {}

    std::string svg() {
        axes();
        for (std::size_t i = 0; i < chart_.series.size(); ++i) series(i);
        legend();
        return fmt::format(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0:g} {1:g}\" "
            "font-family=\"sans-serif\" font-size=\"10\" fill=\"#222\">\n"
            "<title>{2}</title>\n"
            "<rect width=\"{0:g}\" height=\"{1:g}\" fill=\"#fff\"/>\n{3}</svg>\n",
            width, height, chart_.title, body_);
    }

  private:
    double across(double x) const {
        const ChartAxis& a = chart_.x;
        return left + (x - a.from) / (a.to - a.from) * (width - left - right);
    }
    double down(double y) const {
        const ChartAxis& a = chart_.y;
        return height - bottom - (y - a.from) / (a.to - a.from) * (height - top - bottom);
    }

    void text(const std::string& what, double x, double y, const char* anchor,
              const std::string& more = {}) {
        body_ += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"{}\"{}>{}</text>\n", x,
                             y, anchor, more, what);
    }
    void line(double x1, double y1, double x2, double y2, const std::string& stroke) {
        body_ +=
            fmt::format("<path d=\"M{:.1f} {:.1f}L{:.1f} {:.1f}\" fill=\"none\" stroke=\"{}\"/>\n",
                        x1, y1, x2, y2, stroke);
    }

    void axes() {
        for (const double tick : chart_.x.ticks) {
            line(across(tick), height - bottom, across(tick), top, "#ddd");
            text(fmt::format("{:g}", tick), across(tick), height - bottom + 14, "middle");
        }
        for (const double tick : chart_.y.ticks) {
            line(left, down(tick), width - right, down(tick), "#ddd");
            text(fmt::format("{:g}", tick), left - 6, down(tick) + 3.5, "end");
        }
        text(chart_.title, left, 19, "start", " font-size=\"12\"");
        text(chart_.x.title, (left + width - right) / 2, height - 12, "middle");
        const double middle = (top + height - bottom) / 2;
        text(chart_.y.title, 14, middle, "middle",
             fmt::format(" transform=\"rotate(-90 14 {:.1f})\"", middle));
    }

    void mark(double x, double y, const char* colour) {
        body_ += fmt::format("<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"2.6\" fill=\"{}\"/>\n", x, y,
                             colour);
    }

    void series(std::size_t index) {
        const ChartSeries& s = chart_.series[index];
        const char* colour = colours[index % colours.size()];
        if (s.line) {
            std::string points;
            for (const ChartPoint& p : s.points) {
                points += fmt::format(" {:.1f},{:.1f}", across(p.x), down(p.y));
            }
            body_ += fmt::format("<polyline points=\"{}\" fill=\"none\" stroke=\"{}\"{}/>\n",
                                 points, colour, s.dashed ? " stroke-dasharray=\"4\"" : "");
        }
        for (const ChartPoint& p : s.points) {
            if (p.high > p.low) line(across(p.x), down(p.low), across(p.x), down(p.high), colour);
            if (s.marks) mark(across(p.x), down(p.y), colour);
        }
    }

    void legend() {
        double y = height - bottom - 10;
        for (std::size_t i = chart_.series.size(); i-- > 0;) {
            if (chart_.series[i].label.empty()) continue;
            const char* colour = colours[i % colours.size()];
            line(width - right - 28, y - 3.5, width - right - 8, y - 3.5, colour);
            if (chart_.series[i].marks) mark(width - right - 18, y - 3.5, colour);
            text(chart_.series[i].label, width - right - 34, y, "end");
            y -= 14;
        }
    }

    const Chart& chart_;
    std::string body_;
};

}  // namespace

std::string svg_of(const Chart& chart) { return Drawing(chart).svg(); }

}  // namespace anfract::truth
