#pragma once

#include <array>
#include <memory>
#include <string>
#include <vector>

// What the ITK test asks of the reader, in plain types: ITK brings an Eigen that must not meet
// ours.
namespace anfract::test {

struct GreyAt {
    std::array<double, 3> point_P;
    double grey = 0;
};

/// Paths in a folder that is gone afterwards.
class PathMaker {
  public:
    PathMaker();
    ~PathMaker();
    PathMaker(const PathMaker&) = delete;
    PathMaker& operator=(const PathMaker&) = delete;
    std::string path(const std::string& name) const;
    /// Takes bytes off the end of a file.
    void cut(const std::string& name, std::size_t bytes) const;
    void write(const std::string& name, const std::string& bytes) const;

  private:
    struct Parts;
    std::unique_ptr<Parts> parts_;
};

/// The file is read, has the size, a right-handed grid and the grey values at the points.
void expect_greys(const std::string& path, const std::array<int, 3>& size,
                  const std::vector<GreyAt>& greys, double tolerance);

/// The file is refused in one sentence that holds `part`.
void expect_refused(const std::string& path, const std::string& part);

}  // namespace anfract::test
