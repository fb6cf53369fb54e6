/**
 * One picture is a strip of quads. Each vertex carries where it lies in the patient and how far through the picture a
 * layer reaches; the card interpolates both and gathers the layer for every pixel. A finer brick wins over a coarser.
 */
export const VERTEX = `
precision highp float;
in vec2 place;
in vec3 at;
in vec3 through;
uniform mat4 toFine;
uniform mat4 toCoarse;
out vec3 fineAt; out vec3 fineThrough;
out vec3 coarseAt; out vec3 coarseThrough;
void main() {
  fineAt = (toFine * vec4(at, 1.0)).xyz;
  fineThrough = (toFine * vec4(through, 0.0)).xyz;
  coarseAt = (toCoarse * vec4(at, 1.0)).xyz;
  coarseThrough = (toCoarse * vec4(through, 0.0)).xyz;
  gl_Position = vec4(place, 0.0, 1.0);
}`;

export const FRAGMENT = `
precision highp float;
precision highp sampler3D;
in vec3 fineAt; in vec3 fineThrough;
in vec3 coarseAt; in vec3 coarseThrough;
uniform sampler3D fine; uniform float fineMiddle; uniform vec3 fineEdge;
uniform sampler3D coarse; uniform float coarseMiddle; uniform vec3 coarseEdge;
uniform bool hasCoarse;
uniform int steps;
uniform int gather;   // 0 mean, 1 greatest, 2 least, 3 what a ray loses
uniform float stepLength_mm;
uniform vec2 window;  // shown black, shown white; for a ray the same of its sum
out vec4 colour;

bool within(vec3 p, vec3 edge) { return all(greaterThanEqual(p, edge)) && all(lessThanEqual(p, 1.0 - edge)); }

void main() {
  float sum = 0.0, most = -1e9, least = 1e9;
  int met = 0;
  for (int i = 0; i < steps; i++) {
    float t = (float(i) + 0.5) / float(steps) - 0.5;
    vec3 p = fineAt + t * fineThrough;
    float grey;
    if (within(p, fineEdge)) grey = textureLod(fine, p, 0.0).r + fineMiddle;
    else if (hasCoarse) {
      p = coarseAt + t * coarseThrough;
      if (!within(p, coarseEdge)) continue;
      grey = textureLod(coarse, p, 0.0).r + coarseMiddle;
    } else continue;
    met++;
    sum += gather == 3 ? max(0.0, grey / 1000.0) * stepLength_mm : grey;
    most = max(most, grey);
    least = min(least, grey);
  }
  if (met == 0) { colour = vec4(0.0); return; }
  float value = gather == 1 ? most : gather == 2 ? least : gather == 3 ? sum : sum / float(met);
  float shade = clamp((value - window.x) / max(window.y - window.x, 1e-6), 0.0, 1.0);
  colour = vec4(vec3(shade), 1.0);
}`;
