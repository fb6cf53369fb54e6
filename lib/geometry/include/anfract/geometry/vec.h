#pragma once

#include <Eigen/Core>

namespace anfract {

using Vec2 = Eigen::Vector2d;
using Vec3 = Eigen::Vector3d;
using Mat3 = Eigen::Matrix3d;

}  // namespace anfract
