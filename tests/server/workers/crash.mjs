throw new Error('Broken on purpose.');
