// How wide a text will be, in pixels.

let pen = null;

// The face and size are those of `element`; `weight` is 400 or 700, and `times` multiplies its size.
export function textWidth(element, text, weight = 400, times = 1) {
  pen ??= document.createElement("canvas").getContext("2d");
  const style = getComputedStyle(element);
  pen.font = `${weight} ${parseFloat(style.fontSize) * times}px ${style.fontFamily}`;
  return pen.measureText(text).width;
}
