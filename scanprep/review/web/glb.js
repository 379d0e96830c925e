// Reads the binary glTF that this server writes: float32 positions, byte colours, uint32 corners, one mesh a part.

export function parts(buffer) {
  const view = new DataView(buffer);
  if (view.getUint32(0, true) !== 0x46546c67 || view.getUint32(4, true) !== 2) throw new Error("this is no glTF 2.0 file");
  const long = view.getUint32(12, true), start = 20 + long + 8;
  const plain = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 20, long)));
  const from = (index) => {
    const accessor = plain.accessors[index], { byteOffset, byteLength } = plain.bufferViews[accessor.bufferView];
    const Kind = { 5126: Float32Array, 5125: Uint32Array, 5121: Uint8Array }[accessor.componentType];
    return new Kind(buffer, start + byteOffset, byteLength / Kind.BYTES_PER_ELEMENT);
  };
  return plain.meshes.map((mesh) => {
    const one = mesh.primitives[0];
    return { name: mesh.name, positions: from(one.attributes.POSITION), colours: from(one.attributes.COLOR_0), corners: from(one.indices) };
  });
}
